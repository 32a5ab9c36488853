//! What each column of a logger's file is: guessed from its head and its cells, chosen by a person, remembered by its head.

use serde::{Deserialize, Serialize};

use super::moment::Order;
use super::sheet::{Sheet, is_figure};
use crate::error::{Errors, Refusal};
use crate::measure::UnitSystem;

/// Where a time without an offset of its own was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Told {
    /// On the clock of the shop's wall.
    Shop,
    Utc,
}

/// How a file is read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Columns {
    pub time: usize,
    /// The time of day, where it stands in a column of its own.
    #[serde(default)]
    pub clock: Option<usize>,
    pub order: Order,
    pub told: Told,
    #[serde(default)]
    pub temperature: Option<usize>,
    /// Whether temperatures are in °F.
    #[serde(default)]
    pub fahrenheit: bool,
    #[serde(default)]
    pub humidity: Option<usize>,
    /// Whether figures have a decimal comma.
    #[serde(default)]
    pub comma: bool,
}

/// A guess, and whether the file leaves no doubt about the order of the date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Guess {
    pub columns: Columns,
    pub sure: bool,
}

const TIME: [&str; 9] = ["time", "date", "zeit", "datum", "uhr", "fecha", "hora", "heure", "stamp"];
const TEMPERATURE: [&str; 5] = ["temp", "°c", "°f", "celsius", "fahrenheit"];
const HUMIDITY: [&str; 5] = ["hum", "rh", "feucht", "hygro", "r.h"];
/// A column that is no reading of the air itself.
const DERIVED: [&str; 3] = ["dew", "taupunkt", "rosée"];

/// Guesses what the columns are.
///
/// # Errors
/// A refusal where no column is a time.
pub fn guess(sheet: &Sheet, system: UnitSystem) -> Result<Guess, Refusal> {
    let heads: Vec<String> = sheet.head.iter().map(|name| name.to_lowercase()).collect();
    let says = |n: usize, words: &[&str]| words.iter().any(|word| heads[n].contains(word));
    let all = 0..heads.len();
    let times: Vec<usize> = all.clone().filter(|n| sheet.column(*n).take(1).any(is_some_day)).collect();
    let time = times.iter().copied().find(|n| says(*n, &TIME)).or_else(|| times.first().copied());
    let time =
        time.ok_or_else(|| Refusal::at("time", "No column in it is a time. Choose the one that is."))?;
    let clock = needs_clock(sheet, time)
        .then(|| all.clone().find(|n| *n != time && sheet.column(*n).take(1).any(is_clock)))
        .flatten();
    let (order, sure) = order(sheet, time, clock, system);
    let of = |words: &[&str]| {
        all.clone().find(|n| {
            *n != time
                && Some(*n) != clock
                && says(*n, words)
                && !says(*n, &DERIVED)
                && sheet.column(*n).any(is_figure)
        })
    };
    let humidity = of(&HUMIDITY);
    let temperature = of(&TEMPERATURE).filter(|n| Some(*n) != humidity).or_else(|| {
        all.clone().find(|n| {
            *n != time
                && Some(*n) != clock
                && Some(*n) != humidity
                && !says(*n, &DERIVED)
                && !says(*n, &["nr", "no.", "#", "index", "id", "bat"])
                && sheet.column(*n).take(1).any(is_figure)
        })
    });
    let fahrenheit = temperature
        .is_some_and(|n| ["°f", "(f)", "[f]", "_f", "fahrenheit"].iter().any(|word| heads[n].contains(word)));
    let figures = [temperature, humidity].into_iter().flatten();
    let comma = figures.flat_map(|n| sheet.column(n)).any(|cell| cell.contains(','));
    let columns = Columns { time, clock, order, told: Told::Shop, temperature, fahrenheit, humidity, comma };
    Ok(Guess { columns, sure })
}

fn is_some_day(cell: &str) -> bool {
    Order::ALL.iter().any(|order| order.is_day(cell))
}

fn is_clock(cell: &str) -> bool {
    Order::YearFirst.read(&format!("2026-01-01 {cell}")).is_some()
}

/// Whether the column of the time holds the day alone.
fn needs_clock(sheet: &Sheet, time: usize) -> bool {
    sheet.column(time).take(1).any(|cell| Order::ALL.iter().all(|order| order.read(cell).is_none()))
}

/// The one order in which every time can be read; where two can, the shop's own, and then it is a guess.
fn order(sheet: &Sheet, time: usize, clock: Option<usize>, system: UnitSystem) -> (Order, bool) {
    let fits = |order: Order| {
        sheet.rows.iter().all(|(_, row)| {
            let cell = joined(row, time, clock);
            cell.is_empty() || order.read(&cell).is_some()
        })
    };
    let fitting: Vec<Order> = Order::ALL.into_iter().filter(|order| fits(*order)).collect();
    let own = if system == UnitSystem::Us { Order::MonthFirst } else { Order::DayFirst };
    match fitting.as_slice() {
        [one] => (*one, true),
        several if several.contains(&own) => (own, false),
        [first, ..] => (*first, false),
        // A row that cannot be read is named when the file is.
        [] => {
            let first = sheet.rows.first().map(|(_, row)| joined(row, time, clock)).unwrap_or_default();
            (Order::ALL.into_iter().find(|order| order.read(&first).is_some()).unwrap_or(own), false)
        }
    }
}

/// The cell of the time, with the time of day after it where that stands beside it.
pub fn joined(row: &[&str], time: usize, clock: Option<usize>) -> String {
    let cell = |n: usize| row.get(n).copied().unwrap_or_default();
    match clock {
        Some(clock) => format!("{} {}", cell(time), cell(clock)).trim().to_owned(),
        None => cell(time).to_owned(),
    }
}

impl Columns {
    /// Whether they can be those of this file, and read at least one quantity.
    ///
    /// # Errors
    /// What is wrong, each at its field.
    pub fn fit(self, sheet: &Sheet) -> Result<Self, Errors> {
        let mut errors = Errors::default();
        let wide = |n: Option<usize>| n.is_none_or(|n| n < sheet.head.len());
        if !wide(Some(self.time)) || !wide(self.clock) || !wide(self.temperature) || !wide(self.humidity) {
            errors.push(Refusal::of("The file has no such column."));
        }
        if self.temperature.is_none() && self.humidity.is_none() {
            errors.push(Refusal::at(
                "temperature",
                "Choose the column of the temperature, of the humidity, or of both.",
            ));
        }
        let figures = [self.temperature, self.humidity];
        if figures.iter().flatten().any(|n| *n == self.time || Some(*n) == self.clock)
            || (self.temperature.is_some() && self.temperature == self.humidity)
        {
            errors.push(Refusal::at("temperature", "One column is chosen twice."));
        }
        if errors.is_empty() { Ok(self) } else { Err(errors) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guessed(text: &str) -> Guess {
        guess(&Sheet::cut(text).expect("cut"), UnitSystem::Metric).expect("guessed")
    }

    #[test]
    fn columns_are_known_by_their_heads() {
        let guess = guessed("No.;Date;Time;Dew point;Temp (°F);Humidity\n1;25.11.2026;07:20;8;54,3;78\n");
        let columns = guess.columns;
        assert_eq!((columns.time, columns.clock), (1, Some(2)));
        assert_eq!((columns.temperature, columns.humidity), (Some(4), Some(5)));
        assert!(columns.fahrenheit && columns.comma && guess.sure);
    }

    #[test]
    fn a_thirteenth_settles_which_figure_is_the_day() {
        let text = "time,t\n01/02/2026 07:00,12.4\n01/13/2026 07:00,12.4\n";
        assert_eq!((guessed(text).columns.order, guessed(text).sure), (Order::MonthFirst, true));
        let open = "time,t\n01/02/2026 07:00,12.4\n";
        assert_eq!((guessed(open).columns.order, guessed(open).sure), (Order::DayFirst, false));
        let sheet = Sheet::cut(open).expect("cut");
        assert_eq!(guess(&sheet, UnitSystem::Us).expect("guessed").columns.order, Order::MonthFirst);
    }

    #[test]
    fn one_column_is_not_two_things() {
        let sheet = Sheet::cut("time;t\n2026-11-25 07:20;12,4\n").expect("cut");
        let columns = guess(&sheet, UnitSystem::Metric).expect("guessed").columns;
        assert!(columns.clone().fit(&sheet).is_ok());
        assert!(Columns { humidity: columns.temperature, ..columns.clone() }.fit(&sheet).is_err());
        assert!(Columns { temperature: None, ..columns.clone() }.fit(&sheet).is_err());
        assert!(Columns { humidity: Some(9), ..columns }.fit(&sheet).is_err());
    }
}
