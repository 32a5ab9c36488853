//! A file read the way that was remembered, guessed or chosen, for the page and for signing.

use serde::Deserialize;

use super::super::columns::{Columns, Told, guess};
use super::super::sheet::Sheet;
use super::super::understood::{Understood, understand};
use crate::error::{Errors, Refusal};
use crate::measure::{ShopZone, UnitSystem};
use crate::web::parts::Choice;

/// What the page's form says of the columns.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ColumnsForm {
    pub time: String,
    pub clock: String,
    pub order: String,
    pub told: String,
    pub temperature: String,
    pub unit: String,
    pub humidity: String,
    pub mark: String,
    /// "look": show it again, sign nothing.
    pub act: String,
}

impl ColumnsForm {
    pub fn of(columns: &Columns) -> Self {
        let text = |n: Option<usize>| n.map(|n| n.to_string()).unwrap_or_default();
        Self {
            time: columns.time.to_string(),
            clock: text(columns.clock),
            order: columns.order.word().into(),
            told: if columns.told == Told::Utc { "utc".into() } else { "shop".into() },
            temperature: text(columns.temperature),
            unit: if columns.fahrenheit { "f".into() } else { "c".into() },
            humidity: text(columns.humidity),
            mark: if columns.comma { "comma".into() } else { "point".into() },
            act: String::new(),
        }
    }

    pub fn read(&self) -> Result<Columns, Errors> {
        let mut errors = Errors::default();
        let mut column = |field: &'static str, text: &str| match text.trim() {
            "" => None,
            text => text.parse().map_err(|_| errors.push(Refusal::at(field, "Choose a column."))).ok(),
        };
        let time = column("time", &self.time);
        let clock = column("clock", &self.clock);
        let temperature = column("temperature", &self.temperature);
        let humidity = column("humidity", &self.humidity);
        let order = self.order.parse();
        match (time, order) {
            (Some(time), Ok(order)) if errors.is_empty() => Ok(Columns {
                time,
                clock,
                order,
                told: if self.told == "utc" { Told::Utc } else { Told::Shop },
                temperature,
                fahrenheit: self.unit == "f",
                humidity,
                comma: self.mark == "comma",
            }),
            (None, _) => {
                errors.push(Refusal::at("time", "Choose the column of the time."));
                Err(errors)
            }
            _ => {
                errors.push(Refusal::at("order", "Choose how the date stands."));
                Err(errors)
            }
        }
    }
}

/// A file as it was read.
pub struct Reading {
    pub columns: Columns,
    /// The file was like one before, or left no doubt.
    pub sure: bool,
    pub header: String,
    /// The columns to choose from, each with its first cell.
    pub choices: Vec<Choice>,
    pub rows: usize,
    pub understood: Result<Understood, Errors>,
}

/// Reads a file: as chosen, else as remembered, else as guessed.
///
/// # Errors
/// Where it is no file of samples at all.
pub fn read(
    text: &str,
    chosen: Option<Columns>,
    remembered: impl FnOnce(&str) -> Option<Columns>,
    zone: &ShopZone,
    system: UnitSystem,
) -> Result<Reading, Refusal> {
    let sheet = Sheet::cut(text)?;
    let header = sheet.header();
    let known = chosen.or_else(|| remembered(&header));
    let (columns, sure) = if let Some(columns) = known {
        (columns, true)
    } else {
        let guess = guess(&sheet, system)?;
        (guess.columns, guess.sure)
    };
    let understood = columns
        .clone()
        .fit(&sheet)
        .and_then(|columns| understand(&sheet, &columns, zone).map_err(Errors::from));
    let choices = sheet.head.iter().enumerate().map(|(n, name)| {
        let first: String = sheet.column(n).next().unwrap_or_default().chars().take(24).collect();
        Choice::new(n, format!("{name}: {first}"))
    });
    Ok(Reading { columns, sure, choices: choices.collect(), rows: sheet.rows.len(), header, understood })
}

/// The header of a file, where it is one of samples.
pub fn header(text: &str) -> Result<String, Refusal> {
    Sheet::cut(text).map(|sheet| sheet.header())
}
