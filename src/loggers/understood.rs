//! A logger's file as the samples that it holds: every row understood, or the first that is not is named.

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use super::columns::{Columns, Told, joined};
use super::entry::Sample;
use super::sheet::Sheet;
use crate::checks::{Quantity, Value};
use crate::error::Refusal;
use crate::measure::{Celsius, ShopZone};

/// What loggers write where they measured nothing.
const NOTHING: [&str; 10] = ["", "-", "--", "---", "nan", "n/a", "na", "nc", "err", "error"];

/// What a file says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Understood {
    /// Sorted by [`Sample::key`], each moment once.
    pub samples: Vec<Sample>,
    /// Cells without a figure.
    pub blank: usize,
    /// The same figure of the same moment, written more than once.
    pub again: usize,
}

/// A figure with its unit behind it or without.
pub fn figure(cell: &str, comma: bool) -> Option<Decimal> {
    let bare = cell.trim_end_matches(|c: char| c.is_whitespace() || "°%CFRHcfrh".contains(c)).trim();
    let bare = bare.replace('\u{2212}', "-");
    let bare = bare.strip_prefix('+').unwrap_or(&bare);
    if bare.contains('e') || bare.contains('E') {
        return None;
    }
    let plain = if comma { bare.replace(',', ".") } else { bare.to_owned() };
    Decimal::from_str_exact(&plain).ok()
}

/// Reads every row.
///
/// # Errors
/// A refusal that names the first line which cannot be read, or the first moment with two figures.
pub fn understand(sheet: &Sheet, columns: &Columns, zone: &ShopZone) -> Result<Understood, Refusal> {
    let mut all = Understood::default();
    let mut clock = Clock::new(sheet, columns, zone);
    for (nr, row) in &sheet.rows {
        let cell = joined(row, columns.time, columns.clock);
        if cell.is_empty() {
            all.blank += 1;
            continue;
        }
        let at = clock.read(&cell).ok_or_else(|| wrong("order", *nr, &cell, "as a time in this order"))?;
        for (field, quantity, column) in [
            ("temperature", Quantity::Temperature, columns.temperature),
            ("humidity", Quantity::Humidity, columns.humidity),
        ] {
            let Some(column) = column else { continue };
            let cell = row.get(column).copied().unwrap_or_default();
            if NOTHING.contains(&cell.to_lowercase().as_str()) {
                all.blank += 1;
                continue;
            }
            let value = figure(cell, columns.comma).ok_or_else(|| wrong(field, *nr, cell, "as a figure"))?;
            let value = measured(quantity, value, columns.fahrenheit)
                .map_err(|why| Refusal::at(field, format!("Line {nr} says {}: {why}", short(cell))))?;
            all.samples.push(Sample { at, value });
        }
    }
    all.again = settle(&mut all.samples)?;
    Ok(all)
}

/// A value in the quantity's own unit.
///
/// # Errors
/// What is outside of what can be measured, in words.
pub fn measured(quantity: Quantity, value: Decimal, fahrenheit: bool) -> Result<Value, String> {
    if quantity == Quantity::Temperature && fahrenheit {
        return Celsius::from_fahrenheit(value).map(Value::Temperature).map_err(|why| why.to_string());
    }
    Value::of(quantity, value).map_err(|why| why.to_string())
}

/// Sorts samples and leaves out what is said twice; how many that were.
///
/// # Errors
/// A refusal that names the first moment for which there are two figures.
pub fn settle(samples: &mut Vec<Sample>) -> Result<usize, Refusal> {
    samples.sort_by_key(Sample::key);
    if let Some(pair) = samples.windows(2).find(|pair| pair[0].key() == pair[1].key() && pair[0] != pair[1]) {
        return Err(Refusal::at(
            "file",
            format!(
                "It has two figures for one moment: {} and {}. If the clocks went back in between, the file should be in UTC.",
                pair[0].line().trim(),
                pair[1].line().trim()
            ),
        ));
    }
    let before = samples.len();
    samples.dedup();
    Ok(before - samples.len())
}

fn wrong(field: &'static str, nr: usize, cell: &str, what: &str) -> Refusal {
    Refusal::at(field, format!("Line {nr} says {}, which cannot be read {what}.", short(cell)))
}

fn short(cell: &str) -> String {
    format!("\u{201c}{}\u{201d}", cell.chars().take(30).collect::<String>())
}

/// Turns what a file's clock showed into moments. Where the clocks went back and a time comes twice, the order of the rows
/// says which of the two it is.
struct Clock<'a> {
    columns: &'a Columns,
    zone: &'a ShopZone,
    rising: bool,
    last: Option<OffsetDateTime>,
}

impl<'a> Clock<'a> {
    fn new(sheet: &Sheet, columns: &'a Columns, zone: &'a ShopZone) -> Self {
        let shown = |row: &[&str]| {
            columns.order.read(&joined(row, columns.time, columns.clock)).map(|moment| moment.local)
        };
        let first = sheet.rows.first().and_then(|(_, row)| shown(row));
        let last = sheet.rows.last().and_then(|(_, row)| shown(row));
        Self { columns, zone, rising: first <= last, last: None }
    }

    fn read(&mut self, cell: &str) -> Option<OffsetDateTime> {
        let moment = self.columns.order.read(cell)?;
        let at = match (moment.offset, self.columns.told) {
            (Some(offset), _) => moment.local.assume_offset(offset).to_offset(time::UtcOffset::UTC),
            (None, Told::Utc) => moment.local.assume_utc(),
            (None, Told::Shop) => self.on_the_wall(moment.local)?,
        };
        let at = at.replace_nanosecond(0).ok()?;
        self.last = Some(at);
        Some(at)
    }

    fn on_the_wall(&self, local: time::PrimitiveDateTime) -> Option<OffsetDateTime> {
        let first = self.zone.instant(local).ok()?;
        let second = first + Duration::HOUR;
        if self.zone.local(second) != local {
            return Some(first);
        }
        let takes_the_second = match (self.last, self.rising) {
            (None, rising) => !rising,
            (Some(last), true) => first <= last,
            (Some(last), false) => second < last,
        };
        Some(if takes_the_second { second } else { first })
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::datetime;

    use super::super::columns::guess;
    use super::*;
    use crate::measure::UnitSystem;

    fn read(text: &str) -> Result<Understood, Refusal> {
        let sheet = Sheet::cut(text)?;
        let columns = guess(&sheet, UnitSystem::Metric)?.columns;
        understand(&sheet, &columns, &ShopZone::parse("Europe/London").expect("a zone"))
    }

    fn times(text: &str) -> Vec<OffsetDateTime> {
        read(text).expect("understood").samples.iter().map(|sample| sample.at).collect()
    }

    #[test]
    fn a_row_gives_a_sample_of_each_quantity() {
        let all = read("time;temp;rh\n25.11.2026 07:20;12,4 °C;78,5 %\n25.11.2026 07:25;---;78\n")
            .expect("understood");
        assert_eq!((all.samples.len(), all.blank, all.again), (3, 1, 0));
        assert_eq!(all.samples[0].value.decimal(), dec!(78.5));
        assert_eq!(all.samples[2].value.decimal(), dec!(12.4));
    }

    #[test]
    fn the_wall_clock_of_summer_is_an_hour_ahead() {
        assert_eq!(times("time;t\n2026-07-01 08:00;12\n"), [datetime!(2026-07-01 07:00 UTC)]);
        assert_eq!(times("time;t\n2026-07-01 08:00Z;12\n"), [datetime!(2026-07-01 08:00 UTC)]);
    }

    #[test]
    fn an_hour_that_comes_twice_is_two_hours_whichever_way_the_file_runs() {
        // Clocks in London went back on 25 October 2026 at 02:00 British Summer Time.
        let up = "time;t\n2026-10-25 00:30;1\n2026-10-25 01:30;2\n2026-10-25 01:30;3\n2026-10-25 02:30;4\n";
        let hours = [
            datetime!(2026-10-24 23:30 UTC),
            datetime!(2026-10-25 00:30 UTC),
            datetime!(2026-10-25 01:30 UTC),
            datetime!(2026-10-25 02:30 UTC),
        ];
        assert_eq!(times(up), hours);
        let down = "time;t\n2026-10-25 02:30;4\n2026-10-25 01:30;3\n2026-10-25 01:30;2\n2026-10-25 00:30;1\n";
        assert_eq!(read(down).expect("understood").samples, read(up).expect("understood").samples);
    }

    #[test]
    fn fahrenheit_is_kept_as_celsius() {
        let all = read("time;temp (°F)\n2026-11-25 07:20;41\n").expect("understood");
        assert_eq!(all.samples[0].value.decimal(), dec!(5));
    }

    #[test]
    fn a_line_that_cannot_be_read_is_named() {
        let say = |text: &str| read(text).expect_err("refused").message;
        let head = "time;temp;rh\n2026-11-25 07:20;12,4;78\n";
        assert!(
            say(&format!("{head}2026-11-25 07:25;12,x;78\n")).starts_with("Line 3 says \u{201c}12,x\u{201d}")
        );
        assert!(say(&format!("{head}2026-11-25 07:25;12,4;101\n")).starts_with("Line 3 says"));
        assert!(say(&format!("{head}soon;12,4;78\n")).contains("as a time"));
    }

    #[test]
    fn one_moment_has_one_figure() {
        let twice = "time;t\n2026-11-25 07:20Z;12\n2026-11-25 07:20Z;12\n";
        let all = read(twice).expect("understood");
        assert_eq!((all.samples.len(), all.again), (1, 1));
        assert!(read("time;t\n2026-11-25 07:20Z;12\n2026-11-25 07:20Z;13\n").is_err());
    }

    #[test]
    fn figures_are_read_with_either_mark() {
        assert_eq!(figure("\u{2212}0,5 °C", true), Some(dec!(-0.5)));
        assert_eq!(figure("+12.40C", false), Some(dec!(12.4)));
        assert_eq!(figure("1e3", false), None);
        assert_eq!(figure("07:20", false), None);
    }
}
