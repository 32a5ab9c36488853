//! The pages of the checks: a file a page.

pub mod deviation;
pub mod deviations;
pub mod found;
pub mod hold;
pub mod holds;
pub mod index;
pub mod limit;
pub mod limits;
pub mod record;
pub mod records;

use rust_decimal::Decimal;
use sqlx::PgConnection;
use time::Duration;

use super::entry::{Quantity, Value};
use crate::error::Result;
use crate::measure::parse_ppm;
use crate::web::Reader;
use crate::web::parts::Tab;

/// The most chlorine that is taken for a reading, in ppm: undiluted household bleach is ten times that.
const MOST_PPM: u16 = 5_000;

/// The sheets of this area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sheet {
    Checks,
    Deviations,
    Holds,
    Limits,
    Records,
}

/// The sheets, with how much stands open on each.
async fn tabs(conn: &mut PgConnection, here: Sheet) -> Result<Vec<Tab>> {
    let open = crate::deviations::all_open_deviations(conn).await?.len();
    let held = crate::deviations::holds(conn).await?.len();
    let count = |n: usize| if n == 0 { String::new() } else { n.to_string() };
    let tab = |sheet: Sheet, href: &str, name: &str, count: String| Tab {
        href: href.into(),
        name: name.into(),
        count,
        here: sheet == here,
    };
    Ok(vec![
        tab(Sheet::Checks, "/checks", "Due and today", String::new()),
        tab(Sheet::Deviations, "/checks/deviations", "Deviations", count(open)),
        tab(Sheet::Holds, "/checks/holds", "On hold", count(held)),
        tab(Sheet::Records, "/checks/records", "Record", String::new()),
        tab(Sheet::Limits, "/checks/limits", "Limits", String::new()),
        // The plans are a room of their own.
        Tab { href: "/plan".into(), name: "Plans".into(), count: String::new(), here: false },
    ])
}

/// A value of a quantity as people type it; a bare figure takes the shop's own unit.
pub fn value(read: &mut Reader, field: &'static str, quantity: Quantity, text: &str) -> Option<Value> {
    match quantity {
        Quantity::Temperature => read.temperature(field, text).map(Value::Temperature),
        Quantity::Humidity => read.humidity(field, text).map(Value::Humidity),
        Quantity::Ph => read.ph(field, text).map(Value::Ph),
        Quantity::WaterActivity => read.water_activity(field, text).map(Value::WaterActivity),
        Quantity::MoistureToProtein => read.ratio(field, text).map(Value::MoistureToProtein),
        Quantity::Chlorine => {
            let ppm = read.take(field, parse_ppm(text))?;
            if ppm.decimal() > Decimal::from(MOST_PPM) {
                read.refuse(field, format!("Chlorine must be from 0 to {MOST_PPM} ppm."));
                return None;
            }
            Some(Value::Chlorine(ppm))
        }
    }
}

/// "25 min", "2 h 10 min", "3 days".
fn span(duration: Duration) -> String {
    let minutes = duration.whole_minutes();
    match (duration.whole_days(), minutes / 60, minutes % 60) {
        (0 | 1, 0, minutes) => format!("{minutes}\u{a0}min"),
        (0 | 1, hours, 0) => format!("{hours}\u{a0}h"),
        (0 | 1, hours, minutes) => format!("{hours}\u{a0}h {minutes}\u{a0}min"),
        (days, _, _) => format!("{days}\u{a0}days"),
    }
}

/// "1 lot", "3 lots".
fn lots(n: usize) -> String {
    if n == 1 { "1 lot".into() } else { format!("{n} lots") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_late_it_is_reads_as_one_would_say_it() {
        assert_eq!(span(Duration::minutes(25)), "25\u{a0}min");
        assert_eq!(span(Duration::minutes(120)), "2\u{a0}h");
        assert_eq!(span(Duration::minutes(1570)), "26\u{a0}h 10\u{a0}min");
        assert_eq!(span(Duration::days(3)), "3\u{a0}days");
    }
}
