//! The unit systems and units that a shop may choose.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::stored::text_column;

/// Grams in a pound avoirdupois, exact: NIST SP 811 (2008), appendix B.8, 4.535 924 E-01 kg with footnote 22.
const POUND: Decimal = Decimal::from_parts(45_359_237, 0, 0, false, 5);
/// Grams in an ounce avoirdupois, exact: a sixteenth of a pound.
const OUNCE: Decimal = Decimal::from_parts(2_579_719_349, 6, 0, false, 9);
/// Grams in a kilogram.
const KILOGRAM: Decimal = Decimal::ONE_THOUSAND;

text_column!(UnitSystem);

/// A word that names no unit.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is not a unit that can be used here.")]
pub struct UnitError(pub String);

/// What the shop weighs in first; the other system is shown beneath it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum UnitSystem {
    /// Kilograms and degrees Celsius.
    Metric,
    /// Pounds, ounces and degrees Fahrenheit.
    Us,
}

impl UnitSystem {
    /// Both, in the order in which a form offers them.
    pub const ALL: [Self; 2] = [Self::Metric, Self::Us];

    /// `metric` or `us`: what forms, bodies and the database carry.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Us => "us",
        }
    }

    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Metric => Self::Us,
            Self::Us => Self::Metric,
        }
    }

    /// What a bare weight at the block means: kilograms or pounds.
    pub const fn weight_unit(self) -> WeightUnit {
        match self {
            Self::Metric => WeightUnit::Kilogram,
            Self::Us => WeightUnit::Pound,
        }
    }

    /// What a bare weight on the small scale means: grams or ounces.
    pub const fn small_weight_unit(self) -> WeightUnit {
        match self {
            Self::Metric => WeightUnit::Gram,
            Self::Us => WeightUnit::Ounce,
        }
    }

    /// What a bare temperature means.
    pub const fn temperature_unit(self) -> TemperatureUnit {
        match self {
            Self::Metric => TemperatureUnit::Celsius,
            Self::Us => TemperatureUnit::Fahrenheit,
        }
    }
}

impl fmt::Display for UnitSystem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.key())
    }
}

impl FromStr for UnitSystem {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        Self::ALL.into_iter().find(|system| system.key() == text).ok_or_else(|| unknown(text))
    }
}

/// A unit of weight that people type.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WeightUnit {
    Gram,
    Kilogram,
    Pound,
    Ounce,
}

impl WeightUnit {
    /// All four, in the order in which a form offers them.
    pub const ALL: [Self; 4] = [Self::Gram, Self::Kilogram, Self::Pound, Self::Ounce];

    /// `g`, `kg`, `lb`, `oz`.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Pound => "lb",
            Self::Ounce => "oz",
        }
    }

    /// Grams in one of it, exact.
    pub const fn grams(self) -> Decimal {
        match self {
            Self::Gram => Decimal::ONE,
            Self::Kilogram => KILOGRAM,
            Self::Pound => POUND,
            Self::Ounce => OUNCE,
        }
    }

    /// The unit that a lower-case word names.
    pub(super) fn of_word(word: &str) -> Option<Self> {
        Some(match word {
            "g" | "gr" | "gram" | "grams" | "gramme" | "grammes" => Self::Gram,
            "kg" | "kgs" | "kilo" | "kilos" | "kilogram" | "kilograms" | "kilogramme" | "kilogrammes" => {
                Self::Kilogram
            }
            "lb" | "lbs" | "pound" | "pounds" => Self::Pound,
            "oz" | "ozs" | "ounce" | "ounces" => Self::Ounce,
            _ => return None,
        })
    }
}

impl fmt::Display for WeightUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl FromStr for WeightUnit {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        Self::of_word(&text.trim().to_lowercase()).ok_or_else(|| unknown(text))
    }
}

/// A unit of temperature that people type.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TemperatureUnit {
    Celsius,
    Fahrenheit,
}

impl TemperatureUnit {
    /// `°C` or `°F`.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        }
    }

    /// The unit that a lower-case word names, with or without its degree sign.
    pub(super) fn of_word(word: &str) -> Option<Self> {
        match word {
            "c" | "celsius" => Some(Self::Celsius),
            "f" | "fahrenheit" => Some(Self::Fahrenheit),
            _ => None,
        }
    }
}

impl fmt::Display for TemperatureUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl FromStr for TemperatureUnit {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        let word = text.trim().trim_start_matches('°').to_lowercase();
        Self::of_word(&word).ok_or_else(|| unknown(text))
    }
}

fn unknown(text: &str) -> UnitError {
    UnitError(text.chars().take(20).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pound_is_453_59237_grams_and_sixteen_ounces() {
        // NIST SP 811 (2008), appendix B.8: pound (avoirdupois) 4.535 924 E-01 kg, footnote 22 gives the exact
        // 0.453 592 37; ounce (avoirdupois) 2.834 952 E-02 kg.
        assert_eq!(WeightUnit::Pound.grams().to_string(), "453.59237");
        assert_eq!(WeightUnit::Ounce.grams().to_string(), "28.349523125");
        assert_eq!(WeightUnit::Ounce.grams() * Decimal::from(16), WeightUnit::Pound.grams());
    }

    #[test]
    fn every_unit_is_found_by_its_symbol() {
        for unit in WeightUnit::ALL {
            assert_eq!(unit.symbol().to_uppercase().parse(), Ok(unit));
        }
        for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
            assert_eq!(unit.symbol().parse(), Ok(unit));
        }
        assert!("stone".parse::<WeightUnit>().is_err());
        assert!("#".parse::<WeightUnit>().is_err());
    }

    #[test]
    fn a_choice_goes_through_a_body_unchanged() {
        assert_eq!(serde_json::to_string(&UnitSystem::Us).unwrap(), "\"us\"");
        assert_eq!(serde_json::from_str::<WeightUnit>("\"kilogram\"").unwrap(), WeightUnit::Kilogram);
        assert_eq!("us".parse(), Ok(UnitSystem::Us));
    }
}
