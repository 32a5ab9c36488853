//! The cabinet that ran at 36 °C: a salami was over its degree-hours before its pH came down to 5.3, and is on hold.

use anyhow::Result;

use super::super::teller::Teller;
use super::drying::{read, tenths};

/// The day on which it was hung in the cabinet, and the one on which it was found.
const HUNG: i64 = 4;
const FOUND: i64 = 3;

/// Tenths of a degree in the cabinet on the days on which it ran warm.
pub fn cabinet(days_ago: i64, evening: bool) -> Option<i64> {
    match (days_ago, evening) {
        (HUNG, true) => Some(361),
        (FOUND, false) => Some(363),
        (FOUND, true) => Some(362),
        _ => None,
    }
}

/// Read when the salami is hung: nobody saw that it was the wrong figure.
pub async fn hung(t: &mut Teller, days_ago: i64) -> Result<()> {
    if days_ago != HUNG {
        return Ok(());
    }
    t.at(days_ago, 14, 30)?;
    t.is("dunstan");
    read(t, "fermenting cabinet", "temperature", &tenths(360), "probe 1").await
}

/// The evening's reading is the one by which it is over. What caused it is known, what becomes of it is not.
pub async fn found(t: &mut Teller, days_ago: i64) -> Result<()> {
    if days_ago != FOUND {
        return Ok(());
    }
    let deviation = t.deviation().await?;
    t.at(days_ago, 18, 50)?;
    t.is("ines");
    let done = [
        (
            "cause",
            "The controller stood at 36 since the cabinet was wiped: the knob turns when a cloth goes over it. Set to 22.",
        ),
        ("control", "23.1 °C at 18:45 with the door shut."),
    ];
    t.signs(&format!("{deviation}/corrective-action"), &done).await?;
    Ok(())
}
