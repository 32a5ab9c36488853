//! What is measured: a quantity and a value in its own unit.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::measure::{Celsius, Humidity, Ph, Ppm, Ratio, ReadingError, UnitSystem, WaterActivity};

/// What a reading measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "lowercase")]
#[sqlx(type_name = "text", rename_all = "lowercase")]
pub enum Quantity {
    Temperature,
    Humidity,
    Ph,
    #[serde(rename = "water activity")]
    #[sqlx(rename = "water activity")]
    WaterActivity,
    /// Free chlorine in a sanitizer.
    Chlorine,
    /// As a laboratory states it: it decides what a sausage may be called.
    #[serde(rename = "moisture to protein")]
    #[sqlx(rename = "moisture to protein")]
    MoistureToProtein,
}

impl Quantity {
    pub const ALL: [Self; 6] = [
        Self::Temperature,
        Self::Humidity,
        Self::Ph,
        Self::WaterActivity,
        Self::Chlorine,
        Self::MoistureToProtein,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Humidity => "humidity",
            Self::Ph => "ph",
            Self::WaterActivity => "water activity",
            Self::Chlorine => "chlorine",
            Self::MoistureToProtein => "moisture to protein",
        }
    }

    /// As it stands at the head of a line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Temperature => "Temperature",
            Self::Humidity => "Humidity",
            Self::Ph => "pH",
            Self::WaterActivity => "Water activity",
            Self::Chlorine => "Chlorine",
            Self::MoistureToProtein => "Moisture to protein",
        }
    }

    /// The unit that a bare figure takes.
    pub fn unit(self, system: UnitSystem) -> &'static str {
        match self {
            Self::Temperature => system.temperature_unit().symbol(),
            Self::Humidity => "%RH",
            Self::Ph => "pH",
            Self::WaterActivity => "aw",
            Self::Chlorine => "ppm",
            Self::MoistureToProtein => "to 1",
        }
    }
}

impl std::str::FromStr for Quantity {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|quantity| quantity.word() == text).ok_or(())
    }
}

/// A measured value: °C, %RH, pH, water activity, ppm, or moisture to one of protein.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "quantity", content = "value", rename_all = "lowercase")]
pub enum Value {
    Temperature(Celsius),
    Humidity(Humidity),
    Ph(Ph),
    #[serde(rename = "water activity")]
    WaterActivity(WaterActivity),
    Chlorine(Ppm),
    #[serde(rename = "moisture to protein")]
    MoistureToProtein(Ratio),
}

impl Value {
    /// A value of this quantity in the quantity's own unit.
    ///
    /// # Errors
    /// Outside what can be measured.
    pub fn of(quantity: Quantity, value: Decimal) -> Result<Self, ReadingError> {
        Ok(match quantity {
            Quantity::Temperature => Self::Temperature(Celsius::new(value)?),
            Quantity::Humidity => Self::Humidity(Humidity::new(value)?),
            Quantity::Ph => Self::Ph(Ph::new(value)?),
            Quantity::WaterActivity => Self::WaterActivity(WaterActivity::new(value)?),
            Quantity::Chlorine => Self::Chlorine(Ppm::new(value)),
            Quantity::MoistureToProtein => Self::MoistureToProtein(Ratio::new(value)?),
        })
    }

    pub fn quantity(self) -> Quantity {
        match self {
            Self::Temperature(_) => Quantity::Temperature,
            Self::Humidity(_) => Quantity::Humidity,
            Self::Ph(_) => Quantity::Ph,
            Self::WaterActivity(_) => Quantity::WaterActivity,
            Self::Chlorine(_) => Quantity::Chlorine,
            Self::MoistureToProtein(_) => Quantity::MoistureToProtein,
        }
    }

    /// In the quantity's own unit.
    pub fn decimal(self) -> Decimal {
        match self {
            Self::Temperature(value) => value.decimal(),
            Self::Humidity(value) => value.decimal(),
            Self::Ph(value) => value.decimal(),
            Self::WaterActivity(value) => value.decimal(),
            Self::Chlorine(value) => value.decimal(),
            Self::MoistureToProtein(value) => value.decimal(),
        }
    }

    /// The figure without its unit, as a field of the shop shows it. Never rounded to the other side of a limit: what
    /// was measured finer is shown finer.
    pub fn figure(self, system: UnitSystem) -> String {
        match (self, system) {
            (Self::Temperature(value), UnitSystem::Us) => signed(value.fahrenheit().round_dp(1), 1),
            (Self::Temperature(value), UnitSystem::Metric) => signed(value.decimal(), 1),
            (Self::Humidity(_) | Self::Chlorine(_), _) => signed(self.decimal(), 0),
            (Self::Ph(_) | Self::MoistureToProtein(_), _) => signed(self.decimal(), 2),
            (Self::WaterActivity(_), _) => signed(self.decimal(), 3),
        }
    }

    /// `3.5 °C`, `84 %RH`, `pH 5.10`, `aw 0.895`, `100 ppm`.
    pub fn text(self, system: UnitSystem) -> String {
        let figure = self.figure(system);
        let unit = self.quantity().unit(system);
        match self {
            Self::Ph(_) | Self::WaterActivity(_) => format!("{unit}\u{a0}{figure}"),
            _ => format!("{figure}\u{a0}{unit}"),
        }
    }
}

/// At least so many decimals, more where the value has them; a true minus sign.
fn signed(value: Decimal, places: u32) -> String {
    let mut value = value.normalize();
    if value.scale() < places {
        value.rescale(places);
    }
    value.to_string().replace('-', "\u{2212}")
}

/// `at most 4.0 °C`, `at least pH 4.60`, `2.0 to 4.0 °C`.
pub fn band(least: Option<Value>, most: Option<Value>, system: UnitSystem) -> String {
    match (least, most) {
        (Some(least), Some(most)) => format!("{} to {}", least.figure(system), most.text(system)),
        (Some(least), None) => format!("at least {}", least.text(system)),
        (None, Some(most)) => format!("at most {}", most.text(system)),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(hundredths: i32) -> Value {
        Value::Temperature(Celsius::hundredths(hundredths))
    }

    #[test]
    fn a_value_just_past_a_limit_does_not_print_like_the_limit() {
        assert_eq!(celsius(400).text(UnitSystem::Metric), "4.0\u{a0}°C");
        assert_eq!(celsius(404).text(UnitSystem::Metric), "4.04\u{a0}°C");
        assert_eq!(Value::Humidity(Humidity::whole(85)).text(UnitSystem::Metric), "85\u{a0}%RH");
        assert_eq!(Value::Ph(Ph::hundredths(530)).text(UnitSystem::Metric), "pH\u{a0}5.30");
    }

    #[test]
    fn a_shop_that_reads_fahrenheit_is_told_fahrenheit() {
        // 41 °F is 5 °C by definition of the scales.
        assert_eq!(celsius(500).text(UnitSystem::Us), "41.0\u{a0}°F");
        assert_eq!(celsius(-1_778).text(UnitSystem::Us), "0.0\u{a0}°F");
    }

    #[test]
    fn a_band_says_both_ends_or_the_one_that_it_has() {
        let system = UnitSystem::Metric;
        assert_eq!(band(Some(celsius(200)), Some(celsius(400)), system), "2.0 to 4.0\u{a0}°C");
        assert_eq!(band(None, Some(celsius(400)), system), "at most 4.0\u{a0}°C");
        assert_eq!(band(Some(celsius(-1_800)), None, system), "at least \u{2212}18.0\u{a0}°C");
    }

    #[test]
    fn every_quantity_reads_back_from_its_word_and_its_body() {
        for quantity in Quantity::ALL {
            assert_eq!(quantity.word().parse(), Ok(quantity));
            let value = Value::of(quantity, Decimal::ONE).expect("within every range");
            assert_eq!(value.quantity(), quantity);
            let body = serde_json::to_string(&value).expect("a body");
            assert!(body.contains(quantity.word()), "{body}");
            assert_eq!(serde_json::from_str::<Value>(&body).expect("reads back"), value);
        }
    }
}
