//! The daily round: readings, weigh-ins, and the one morning on which the chamber was too damp.

use anyhow::Result;
use rust_decimal::Decimal;

use super::super::teller::Teller;
use super::batches::{COPPA_A, Made};
use super::warm;

/// The morning on which the fan stood still.
const DAMP: i64 = 30;

/// Loss in hundredths of a per cent after 0, 7, 14 … days of drying.
const MUSCLE: [i64; 10] = [150, 900, 1490, 1990, 2400, 2740, 3020, 3260, 3460, 3620];
const SALAMI: [i64; 10] = [190, 1160, 1930, 2500, 2930, 3240, 3460, 3620, 3740, 3820];

/// Readings before work.
pub async fn morning(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 6, 10)?;
    t.is("ines");
    let swing = |n: i64| (days_ago * 7 + n * 5) % 11;
    read(t, "cooler 1", "temperature", &tenths(24 + swing(1)), "probe 1").await?;
    read(t, "curing fridge", "temperature", &tenths(25 + swing(2)), "probe 1").await?;
    read(t, "chamber 1", "temperature", &tenths(124 + swing(3)), "probe 1").await?;
    // Degree-hours are reckoned from it, so it is read morning and evening all along.
    let cabinet = warm::cabinet(days_ago, false).unwrap_or_else(|| 218 + swing(7));
    read(t, "fermenting cabinet", "temperature", &tenths(cabinet), "probe 1").await?;
    if days_ago <= 10 {
        read(t, "freezer", "temperature", &tenths(-192 - swing(5)), "probe 1").await?;
        read(t, "counter", "temperature", &tenths(22 + swing(6)), "probe 1").await?;
        read(t, "fermenting cabinet", "humidity", &(84 - swing(8) / 2).to_string(), "chamber sensor").await?;
    }
    if days_ago == DAMP {
        return damp(t, days_ago).await;
    }
    read(t, "chamber 1", "humidity", &(74 + swing(4) / 2).to_string(), "chamber sensor").await
}

/// Readings after work: the cabinet's and the curing fridge's always, the others on the last days, which the charts show closest.
pub async fn evening(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 18, 20)?;
    t.is("dunstan");
    let swing = (days_ago * 5) % 9;
    if days_ago > 1 {
        let cabinet = warm::cabinet(days_ago, true).unwrap_or(222 + swing);
        read(t, "fermenting cabinet", "temperature", &tenths(cabinet), "probe 1").await?;
    }
    // So is the cold of a cure.
    read(t, "curing fridge", "temperature", &tenths(28 + swing), "probe 1").await?;
    if days_ago > 10 {
        return Ok(());
    }
    read(t, "cooler 1", "temperature", &tenths(27 + swing), "probe 1").await?;
    read(t, "chamber 1", "temperature", &tenths(126 + swing), "probe 1").await?;
    read(t, "chamber 1", "humidity", &(75 + swing / 2).to_string(), "chamber sensor").await?;
    if days_ago > 1 {
        read(t, "counter", "temperature", &tenths(25 + swing), "probe 1").await?;
        read(t, "fermenting cabinet", "humidity", &(80 + swing / 3).to_string(), "chamber sensor").await?;
    }
    Ok(())
}

pub fn tenths(n: i64) -> String {
    Decimal::new(n, 1).to_string()
}

pub async fn read(t: &Teller, place: &str, quantity: &str, value: &str, instrument: &str) -> Result<()> {
    let form = [
        ("place", t.id(&format!("place {place}"))?),
        ("quantity", quantity),
        ("value", value),
        ("instrument", t.id(&format!("instrument {instrument}"))?),
    ];
    t.signs("/checks/record", &form).await?;
    Ok(())
}

/// A check out of limits, what was done, and who decided.
async fn damp(t: &mut Teller, days_ago: i64) -> Result<()> {
    read(t, "chamber 1", "humidity", "91", "chamber sensor").await?;
    let deviation = t.deviation().await?;
    t.at(days_ago, 7, 40)?;
    let done = [
        (
            "cause",
            "The circulating fan had stopped: its plug was pulled when the floor was washed. Plugged in and taped.",
        ),
        ("control", "79 %RH at 07:35 with the fan running."),
        ("prevent", "The plug now has a cover; the washing sheet says to look at the fan."),
        (
            "product",
            "All pieces looked over: surfaces dry by 07:30, no slime, no off smell, no colour but white mould.",
        ),
    ];
    t.signs(&format!("{deviation}/corrective-action"), &done).await?;
    read(t, "chamber 1", "humidity", "79", "chamber sensor").await?;
    t.at(days_ago, 8, 15)?;
    t.is("wilf");
    let lots = t.hidden(&deviation, "lot").await?;
    let words = "One night at most over the band; nothing seen on the pieces. Drying goes on.";
    let mut decided = vec![("every", "lift the hold"), ("words", words)];
    for lot in &lots {
        decided.extend([("lot", lot.as_str()), ("decision", "")]);
    }
    t.signs(&format!("{deviation}/decision"), &decided).await?;
    Ok(())
}

/// Pieces are weighed when they are hung and every seven days from then.
pub async fn weigh_in(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    for batch in batches {
        if batch.salami && batch.begun - 2 == days_ago {
            acid(t, days_ago, batch).await?;
        }
        let days = batch.drying_for(days_ago);
        if days < 7 || days % 7 != 0 {
            continue;
        }
        t.at(days_ago, 7, 5)?;
        t.is(if days % 14 == 0 { "dunstan" } else { "ines" });
        let curve = if batch.salami { SALAMI } else { MUSCLE };
        let Some(loss) = usize::try_from(days / 7).ok().and_then(|week| curve.get(week)) else { continue };
        for piece in t.pieces(&batch.path).await? {
            // Its own number, which stays when others have left.
            let n = piece.number();
            let own = loss + loss * lag(n) / 400;
            let weight =
                (piece.grams.decimal() * Decimal::from(10_000 - own) / Decimal::from(10_000)).round();
            if n == 1 && days == 21 && batch.key.starts_with("loin") {
                weigh(t, &piece.code, weight + Decimal::from(60)).await?;
                let line = t.last_line().await?;
                t.signs(&format!("/entries/{line}/strike"), &[("reason", "Read the hook beside it")]).await?;
            }
            weigh(t, &piece.code, weight).await?;
        }
    }
    Ok(())
}

/// How many days ago somebody thought that the first coppa was dry: by weight it is, and no more than that is known of it.
const THOUGHT_DRY: i64 = 2;

/// One piece of the first coppa, hung nearest to the fan, has lost more than 35 per cent. Its water activity is not measured, so
/// it does not go to sale.
pub async fn thought_dry(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    let coppa = batches.iter().find(|made| made.key == COPPA_A).filter(|_| days_ago == THOUGHT_DRY);
    let Some(coppa) = coppa else { return Ok(()) };
    t.at(days_ago, 8, 40)?;
    t.is("dunstan");
    let pieces = t.pieces(&coppa.path).await?;
    let Some(piece) = pieces.first() else { return Ok(()) };
    weigh(t, &piece.code, (piece.grams.decimal() * Decimal::new(646, 3)).round()).await
}

/// How far a piece is ahead of the others of its batch, by its number: no two dry alike. Below nothing it lags behind.
pub fn lag(number: i64) -> i64 {
    (number * 37) % 41 - 20
}

async fn weigh(t: &Teller, code: &str, grams: Decimal) -> Result<()> {
    let weight = grams.to_string();
    let form = [
        ("code", code),
        ("weight", weight.as_str()),
        ("weight_unit", "g"),
        ("scale", t.id("instrument hanging scale")?),
        ("reason", ""),
        ("again", ""),
        ("when", ""),
        ("place", ""),
    ];
    t.signs("/hanging/weigh", &form).await?;
    Ok(())
}

/// The pH of a salami on its second day.
async fn acid(t: &mut Teller, days_ago: i64, batch: &Made) -> Result<()> {
    t.at(days_ago, 6, 50)?;
    t.is("ines");
    let id = batch.path.rsplit('/').next().unwrap_or_default();
    let form = [
        ("batch", id),
        ("quantity", "ph"),
        ("value", "5.1"),
        ("instrument", t.id("instrument pH meter")?),
        ("end", "yes"),
    ];
    t.signs("/checks/record", &form).await?;
    Ok(())
}
