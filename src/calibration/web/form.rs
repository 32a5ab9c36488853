//! A calibration as it is typed.

use rust_decimal::{Decimal, dec};
use serde::Deserialize;
use time::OffsetDateTime;

use super::super::entry::{Known, Point, Shown};
use crate::error::Errors;
use crate::measure::{TemperatureUnit, UnitSystem, WaterActivity};
use crate::setup::entry::Measures;
use crate::standards::instruments;
use crate::web::parts::Choice;
use crate::web::{Reader, Shop};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct CalibrationForm {
    /// `ice` or `boiling`; the name of a salt.
    pub against: String,
    /// What a thermometer shows: `c` or `f`.
    pub scale: String,
    pub height: String,
    pub expected: String,
    pub division: String,
    pub tolerance: String,
    pub found: String,
    pub left: String,
    pub expected_2: String,
    pub found_2: String,
    pub left_2: String,
    pub note: String,
    pub when: String,
}

pub struct Typed {
    pub points: Vec<Point>,
    pub note: String,
    pub when: Option<OffsetDateTime>,
}

/// Feet in a height as it is typed; a bare figure is in metres, or in feet where the shop says pounds.
fn feet(read: &mut Reader, shop: &Shop, text: &str) -> Option<Decimal> {
    let lower = text.trim().to_lowercase();
    let (number, metres) = match (lower.strip_suffix("ft"), lower.strip_suffix('m')) {
        (Some(number), _) => (number, false),
        (_, Some(number)) => (number, true),
        _ => (lower.as_str(), shop.system == UnitSystem::Metric),
    };
    if metres {
        Some(read.decimal("height", number, Decimal::ZERO, dec!(3048))? / instruments::FOOT)
    } else {
        read.decimal("height", number, Decimal::ZERO, dec!(10000))
    }
}

fn salt_words(name: &str, thousandths: u16) -> String {
    format!("{name}, aw\u{a0}0.{thousandths:03}")
}

/// The salts that a page offers.
pub fn salts() -> Vec<Choice> {
    instruments::SALTS.iter().map(|(name, aw)| Choice::new(name, salt_words(name, *aw))).collect()
}

impl CalibrationForm {
    /// What stands in an empty form.
    pub fn fresh(measures: Measures, shop: &Shop) -> Self {
        let usual = Self {
            scale: if shop.system == UnitSystem::Us { "f".into() } else { "c".into() },
            ..Self::default()
        };
        match measures {
            Measures::Temperature => Self { against: "ice".into(), ..usual },
            Measures::Ph => Self { expected: "7.00".into(), expected_2: "4.01".into(), ..usual },
            Measures::WaterActivity => Self { against: "sodium chloride".into(), ..usual },
            Measures::Humidity => Self { expected: "75".into(), tolerance: "3".into(), ..usual },
            Measures::Weight | Measures::Other => usual,
        }
    }

    /// # Errors
    /// Every field that cannot be read.
    pub fn read(&self, measures: Measures, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let points = match measures {
            Measures::Temperature => self.thermometer(&mut read, shop).map(|point| vec![point]),
            Measures::Weight => self.scale(&mut read, shop).map(|point| vec![point]),
            Measures::Ph => self.ph_meter(&mut read),
            Measures::WaterActivity => self.salt(&mut read).map(|point| vec![point]),
            Measures::Humidity => self.air(&mut read).map(|point| vec![point]),
            Measures::Other => {
                read.refuse("", "Nothing is known here that this instrument could be held against.");
                None
            }
        };
        let note = read.note_or_empty("note", &self.note);
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { points: points?, note: note?, when: when? }))
    }

    fn thermometer(&self, read: &mut Reader, shop: &Shop) -> Option<Point> {
        let scale = match self.scale.as_str() {
            "c" => Some(TemperatureUnit::Celsius),
            "f" => Some(TemperatureUnit::Fahrenheit),
            _ => {
                read.refuse("scale", "Say whether it shows °C or °F.");
                None
            }
        };
        let against = match self.against.as_str() {
            "ice" => scale.map(|scale| Known::Ice { scale }),
            "boiling" => {
                let feet = feet(read, shop, &self.height);
                scale.zip(feet).map(|(scale, feet)| Known::Boiling { feet, scale })
            }
            _ => {
                read.refuse("against", "Choose melting ice or boiling water.");
                None
            }
        };
        let found = read.temperature("found", &self.found);
        let left = read.maybe_temperature("left", &self.left);
        Some(Point {
            against: against?,
            found: Shown::Temperature(found?),
            left: left?.map(Shown::Temperature),
        })
    }

    fn scale(&self, read: &mut Reader, shop: &Shop) -> Option<Point> {
        let unit = shop.small_unit();
        let unit = unit.symbol();
        let load = read.small_weight("expected", &self.expected, unit);
        let division = read.small_weight("division", &self.division, unit);
        let found = read.small_weight("found", &self.found, unit);
        let left = read.maybe_weight("left", &self.left, unit);
        Some(Point {
            against: Known::TestWeight { load: load?, division: division? },
            found: Shown::Weight(found?),
            left: left?.map(Shown::Weight),
        })
    }

    fn ph_meter(&self, read: &mut Reader) -> Option<Vec<Point>> {
        let mut buffer = |fields: [&'static str; 3], texts: [&str; 3]| {
            let ph = read.ph(fields[0], texts[0]);
            let found = read.ph(fields[1], texts[1]);
            let left =
                if texts[2].trim().is_empty() { Some(None) } else { read.ph(fields[2], texts[2]).map(Some) };
            Some(Point {
                against: Known::Buffer { ph: ph? },
                found: Shown::Ph(found?),
                left: left?.map(Shown::Ph),
            })
        };
        let first = buffer(["expected", "found", "left"], [&self.expected, &self.found, &self.left]);
        let second =
            buffer(["expected_2", "found_2", "left_2"], [&self.expected_2, &self.found_2, &self.left_2]);
        let (first, second) = (first?, second?);
        if first.against == second.against {
            read.refuse(
                "expected_2",
                "Two buffers, on either side of what is measured: the second is another one.",
            );
            return None;
        }
        Some(vec![first, second])
    }

    fn salt(&self, read: &mut Reader) -> Option<Point> {
        let salt = instruments::SALTS.iter().find(|(name, _)| *name == self.against);
        if salt.is_none() {
            read.refuse("against", "Choose the salt.");
        }
        let found = read.water_activity("found", &self.found);
        let left = if self.left.trim().is_empty() {
            Some(None)
        } else {
            read.water_activity("left", &self.left).map(Some)
        };
        let (name, aw) = salt?;
        Some(Point {
            against: Known::Salt { name: (*name).into(), aw: WaterActivity::thousandths(*aw) },
            found: Shown::WaterActivity(found?),
            left: left?.map(Shown::WaterActivity),
        })
    }

    fn air(&self, read: &mut Reader) -> Option<Point> {
        let humidity = read.humidity("expected", &self.expected);
        let tolerance = read.decimal("tolerance", &self.tolerance, dec!(0.1), dec!(20));
        let found = read.humidity("found", &self.found);
        let left = if self.left.trim().is_empty() {
            Some(None)
        } else {
            read.humidity("left", &self.left).map(Some)
        };
        Some(Point {
            against: Known::Air { humidity: humidity?, tolerance: tolerance? },
            found: Shown::Humidity(found?),
            left: left?.map(Shown::Humidity),
        })
    }
}
