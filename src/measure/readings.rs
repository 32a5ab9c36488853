//! Humidity, pH and water activity as instruments show them, and what all typed readings share.

use std::fmt;

use rust_decimal::Decimal;
use thiserror::Error;

use super::print::{figure, short_figure};
use super::stored::{StoredError, decimal_column, exact, fixed};
use super::typed::{LONGEST, Marks, Unread, signed_amount, tidy};

/// Why a typed reading was not taken, as a sentence for the person who typed it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReadingError {
    #[error("Enter a figure, such as {example}.")]
    Empty { example: &'static str },
    #[error("This is too long. Write it as {example}.")]
    TooLong { example: &'static str },
    #[error("This cannot be read as a figure. Write it as {example}.")]
    NotUnderstood { example: &'static str },
    #[error("{what} must be from {low} to {high}.")]
    OutOfRange { what: &'static str, low: &'static str, high: &'static str },
    #[error("No more than {places} decimals can be kept here.")]
    TooFine { places: u32 },
}

/// Reads a number with one of `words` or none after it, and holds it against its range.
pub(super) fn reading(
    text: &str,
    words: &[&str],
    marks: Marks,
    places: u32,
    example: &'static str,
    holds: impl Fn(Decimal) -> bool,
    bounds: ReadingError,
) -> Result<Decimal, ReadingError> {
    if text.trim().chars().count() > LONGEST {
        return Err(ReadingError::TooLong { example });
    }
    let tidied = tidy(text);
    if tidied.is_empty() {
        return Err(ReadingError::Empty { example });
    }
    let number = words.iter().find_map(|word| tidied.strip_suffix(word)).unwrap_or(&tidied);
    let value = signed_amount(number, marks).map_err(|unread| match unread {
        Unread::TooLarge => bounds.clone(),
        _ => ReadingError::NotUnderstood { example },
    })?;
    if !holds(value) {
        return Err(bounds);
    }
    if value.normalize().scale() > places {
        return Err(ReadingError::TooFine { places });
    }
    Ok(value)
}

/// A reading with a range and fixed decimals: its type, its constructors and its typed form.
macro_rules! bounded_reading {
    (
        $(#[$doc:meta])*
        $name:ident, parse: $parse:ident, places: $places:literal, top: $top:expr, what: $what:literal,
        high: $high:literal, words: $words:expr, example: $example:literal
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Decimal);

        decimal_column!($name);

        impl $name {
            /// Rounded to the decimals of the measure; refused outside its range.
            pub fn new(value: Decimal) -> Result<Self, ReadingError> {
                if Self::holds(value) { Ok(Self(fixed(value, $places))) } else { Err(Self::bounds()) }
            }

            fn holds(value: Decimal) -> bool {
                value >= Decimal::ZERO && value <= $top
            }

            const fn bounds() -> ReadingError {
                ReadingError::OutOfRange { what: $what, low: "0", high: $high }
            }

            fn from_stored(value: Decimal) -> Result<Self, StoredError> {
                let value = exact(value, $places)?;
                Self::new(value).map_err(|_| StoredError::OutOfRange(value))
            }

            /// The figure.
            pub const fn decimal(self) -> Decimal {
                self.0
            }
        }

        /// The canonical form, always with the same decimals.
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}", self.0)
            }
        }

        #[doc = concat!("Reads a typed figure such as `", $example, "`, within the range of the measure.")]
        pub fn $parse(text: &str) -> Result<$name, ReadingError> {
            reading(text, $words, Marks::Decimal, $places, $example, $name::holds, $name::bounds()).and_then($name::new)
        }
    };
}

bounded_reading!(
    /// Relative humidity, 0 to 100 %RH, two decimals.
    Humidity, parse: parse_humidity, places: 2, top: Decimal::ONE_HUNDRED, what: "Relative humidity", high: "100",
    words: &["%rh", "% rh", "rh", "%"], example: "78 %RH"
);

bounded_reading!(
    /// Acidity, pH 0 to 14, two decimals.
    Ph, parse: parse_ph, places: 2, top: Decimal::from(14), what: "A pH", high: "14",
    words: &["ph"], example: "5.10"
);

bounded_reading!(
    /// Water activity, 0 to 1, three decimals.
    WaterActivity, parse: parse_water_activity, places: 3, top: Decimal::ONE, what: "Water activity", high: "1",
    words: &["aw", "a_w"], example: "0.895"
);

bounded_reading!(
    /// A ratio to one, as moisture to protein: 0 to 100, two decimals.
    Ratio, parse: parse_ratio, places: 2, top: Decimal::ONE_HUNDRED, what: "A ratio", high: "100",
    words: &[":1", ": 1", "to 1"], example: "1.90"
);

impl Ratio {
    /// A limit written in the program, in hundredths: 190 is 1.90 to 1. Refuses to compile in a constant above 100.
    ///
    /// # Panics
    /// Above 10000.
    pub const fn hundredths(value: u16) -> Self {
        assert!(value <= 10_000, "a ratio ends at 100");
        Self(Decimal::from_parts(value as u32, 0, 0, false, 2))
    }
}

impl Humidity {
    /// A limit written in the program, in whole %RH. Refuses to compile in a constant above 100.
    ///
    /// # Panics
    /// Above 100.
    pub const fn whole(percent: u8) -> Self {
        assert!(percent <= 100, "relative humidity ends at 100");
        Self(Decimal::from_parts(percent as u32 * 100, 0, 0, false, 2))
    }

    /// `84 %RH`, `84.5 %RH`.
    pub fn text(self) -> String {
        format!("{} %RH", short_figure(self.0, 1))
    }
}

impl Ph {
    /// A limit written in the program, in hundredths: 530 is pH 5.30. Refuses to compile in a constant above 14.
    ///
    /// # Panics
    /// Above 1400.
    pub const fn hundredths(value: u16) -> Self {
        assert!(value <= 1400, "pH ends at 14");
        Self(Decimal::from_parts(value as u32, 0, 0, false, 2))
    }

    /// `pH 5.10`.
    pub fn text(self) -> String {
        format!("pH {}", figure(self.0, 2))
    }
}

impl WaterActivity {
    /// A limit written in the program, in thousandths: 850 is 0.850. Refuses to compile in a constant above 1.
    ///
    /// # Panics
    /// Above 1000.
    pub const fn thousandths(value: u16) -> Self {
        assert!(value <= 1000, "water activity ends at 1");
        Self(Decimal::from_parts(value as u32, 0, 0, false, 3))
    }

    /// `aw 0.895`.
    pub fn text(self) -> String {
        format!("aw {}", figure(self.0, 3))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn readings_are_typed_as_the_instrument_shows_them() {
        assert_eq!(parse_humidity("78").unwrap().text(), "78 %RH");
        assert_eq!(parse_humidity("78,5 % RH").unwrap().text(), "78.5 %RH");
        assert_eq!(parse_humidity("100%").unwrap(), Humidity::whole(100));
        assert_eq!(parse_ph("5,1").unwrap().text(), "pH 5.10");
        assert_eq!(parse_ph("5.30 pH").unwrap(), Ph::hundredths(530));
        assert_eq!(parse_water_activity("0,895").unwrap().text(), "aw 0.895");
        assert_eq!(parse_water_activity(".85").unwrap(), WaterActivity::thousandths(850));
    }

    #[test]
    fn readings_outside_what_can_be_measured_are_refused() {
        assert!(parse_humidity("100.1").is_err());
        assert!(parse_humidity("-1").is_err());
        assert!(parse_ph("14.01").is_err());
        assert!(parse_water_activity("1.001").is_err());
        assert_eq!(parse_ph("51").unwrap_err().to_string(), "A pH must be from 0 to 14.");
        assert_eq!(parse_ph("5.123").unwrap_err().to_string(), "No more than 2 decimals can be kept here.");
        assert_eq!(
            parse_ph("sour").unwrap_err().to_string(),
            "This cannot be read as a figure. Write it as 5.10."
        );
        assert_eq!(parse_water_activity("").unwrap_err().to_string(), "Enter a figure, such as 0.895.");
    }

    #[test]
    fn a_stored_reading_is_checked_again() {
        assert!(serde_json::from_str::<Ph>("\"14.01\"").is_err());
        assert!(serde_json::from_str::<Humidity>("\"-0.01\"").is_err());
        assert!(serde_json::from_str::<WaterActivity>("\"0.8951\"").is_err());
        assert_eq!(serde_json::to_string(&Ph::hundredths(510)).unwrap(), "\"5.10\"");
        assert!(Ph::new("14.001".parse().unwrap()).is_err());
    }

    proptest! {
        #[test]
        fn a_stored_reading_comes_back_the_same(value in 0_u16..=1000) {
            let aw = WaterActivity::thousandths(value);
            let body = serde_json::to_string(&aw).unwrap();
            prop_assert_eq!(serde_json::from_str::<WaterActivity>(&body).unwrap(), aw);
            prop_assert_eq!(parse_water_activity(&aw.to_string()).unwrap(), aw);
        }
    }
}
