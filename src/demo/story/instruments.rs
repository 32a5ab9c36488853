//! Instruments held against what is known: the probe each week, the pH meter before a salami is measured, the scales.

use anyhow::Result;

use super::super::teller::Teller;

/// Days from one calibration to the next, as the shop gave them.
pub const EVERY: [(&str, &str); 4] =
    [("probe 1", "7"), ("pH meter", "14"), ("hanging scale", "30"), ("chamber sensor", "90")];

/// What was calibrated on this day, before work.
pub async fn calibrated(t: &mut Teller, days_ago: i64) -> Result<()> {
    // The probe's last time was a week ago, so Today asks for it; the others have days to go.
    if days_ago % 7 == 0 {
        probe(t, days_ago).await?;
    }
    if days_ago % 14 == 4 {
        ph_meter(t, days_ago).await?;
    }
    if days_ago % 30 == 9 {
        scale(t, days_ago).await?;
    }
    if days_ago == 66 {
        sensor(t, days_ago).await?;
    }
    Ok(())
}

async fn probe(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 6, 2)?;
    t.is("ines");
    let found = if days_ago % 14 == 0 { "0.2" } else { "-0.1" };
    let form = [("against", "ice"), ("scale", "c"), ("found", found), ("left", ""), ("note", "")];
    t.signs(&path(t, "probe 1")?, &form).await?;
    Ok(())
}

async fn ph_meter(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 6, 4)?;
    t.is("ines");
    let form = [
        ("expected", "7.00"),
        ("found", "7.02"),
        ("left", ""),
        ("expected_2", "4.01"),
        ("found_2", "4.03"),
        ("left_2", "4.01"),
        ("note", "Set anew at both buffers"),
    ];
    t.signs(&path(t, "pH meter")?, &form).await?;
    Ok(())
}

async fn scale(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 6, 40)?;
    t.is("dunstan");
    let form = [
        ("expected", "2000"),
        ("division", "5"),
        ("found", if days_ago == 39 { "2005" } else { "2000" }),
        ("left", ""),
        ("note", ""),
    ];
    t.signs(&path(t, "hanging scale")?, &form).await?;
    Ok(())
}

async fn sensor(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 9, 30)?;
    t.is("ines");
    let form = [
        ("expected", "75"),
        ("tolerance", "3"),
        ("found", "77"),
        ("left", ""),
        ("note", "Twelve hours over wet table salt"),
    ];
    t.signs(&path(t, "chamber sensor")?, &form).await?;
    Ok(())
}

fn path(t: &Teller, instrument: &str) -> Result<String> {
    Ok(format!("/calibration/{}", t.id(&format!("instrument {instrument}"))?))
}
