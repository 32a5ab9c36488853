//! Temperature: degrees Celsius to the hundredth, typed and shown in either unit.

use std::fmt;

use rust_decimal::Decimal;

use super::print::figure;
use super::readings::{ReadingError, reading};
use super::stored::{StoredError, decimal_column, exact, fixed};
use super::typed::Marks;
use super::units::{TemperatureUnit, UnitSystem};

/// Degrees Celsius with two decimals, from −273.15 (absolute zero) to 400, which no oven or probe here exceeds.
///
/// Stored as `"2.80"` and as NUMERIC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Celsius(Decimal);

decimal_column!(Celsius);

const PLACES: u32 = 2;
/// In hundredths of a degree.
const LOWEST: i32 = -27_315;
const HIGHEST: i32 = 40_000;
const BOUNDS: ReadingError =
    ReadingError::OutOfRange { what: "A temperature", low: "\u{2212}273.15 °C", high: "400 °C" };
const EXAMPLE: &str = "3.5 C or 38 F";

impl Celsius {
    /// Rounded to 0.01 °C; refused outside −273.15 to 400.
    pub fn new(degrees: Decimal) -> Result<Self, ReadingError> {
        let hundredths = fixed(degrees, PLACES);
        let held = hundredths >= Decimal::new(LOWEST.into(), PLACES)
            && hundredths <= Decimal::new(HIGHEST.into(), PLACES);
        if held { Ok(Self(hundredths)) } else { Err(BOUNDS) }
    }

    /// A limit written in the program, in hundredths of a degree: 280 is 2.80 °C.
    ///
    /// # Panics
    /// Outside −27,315 to 40,000; in a constant that is a compile error.
    pub const fn hundredths(value: i32) -> Self {
        assert!(LOWEST <= value && value <= HIGHEST, "outside what a temperature can be");
        Self(Decimal::from_parts(value.unsigned_abs(), 0, 0, value < 0, PLACES))
    }

    /// A limit written in the program, in whole degrees Celsius.
    ///
    /// # Panics
    /// Outside −273 to 400; in a constant that is a compile error.
    pub const fn whole(degrees: i16) -> Self {
        Self::hundredths(degrees as i32 * 100)
    }

    /// From Fahrenheit, C = (F − 32) / 1.8 (NIST SP 811, appendix B.8), rounded to 0.01 °C; refused outside
    /// −273.15 to 400 °C.
    pub fn from_fahrenheit(degrees: Decimal) -> Result<Self, ReadingError> {
        let above = degrees.checked_sub(Decimal::from(32)).ok_or(BOUNDS)?;
        Self::new(above / Decimal::new(18, 1))
    }

    fn from_stored(value: Decimal) -> Result<Self, StoredError> {
        let value = exact(value, PLACES)?;
        Self::new(value).map_err(|_| StoredError::OutOfRange(value))
    }

    /// In degrees Celsius.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// In degrees Fahrenheit, F = 1.8 C + 32, exact.
    pub fn fahrenheit(self) -> Decimal {
        self.0 * Decimal::new(18, 1) + Decimal::from(32)
    }

    /// `2.8 °C` or `37.0 °F`.
    pub fn text(self, system: UnitSystem) -> String {
        match system {
            UnitSystem::Metric => format!("{} °C", figure(self.0, 1)),
            UnitSystem::Us => format!("{} °F", figure(self.fahrenheit(), 1)),
        }
    }

    /// In the shop's system, then in the other.
    pub fn both(self, system: UnitSystem) -> (String, String) {
        (self.text(system), self.text(system.other()))
    }
}

/// The canonical form, in Celsius: `2.80`.
impl fmt::Display for Celsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// Reads `38F`, `3.5 C`, `3,5`, `−18 °C`, `38°`. A bare figure takes `bare`, the unit shown beside the field.
pub fn parse_temperature(text: &str, bare: TemperatureUnit) -> Result<Celsius, ReadingError> {
    let lowered = text.trim().to_lowercase();
    let word = lowered.trim_end_matches('.');
    let unit = if word.ends_with(['f', '\u{2109}', '\u{FF46}']) || word.ends_with("fahrenheit") {
        TemperatureUnit::Fahrenheit
    } else if word.ends_with(['c', '\u{2103}', '\u{FF43}']) || word.ends_with("celsius") {
        TemperatureUnit::Celsius
    } else {
        bare
    };
    let words = [
        "degrees fahrenheit",
        "degrees celsius",
        "fahrenheit",
        "celsius",
        "degrees f",
        "degrees c",
        "deg f",
        "deg c",
        "° f",
        "° c",
        "°f",
        "°c",
        "f",
        "c",
        "degrees",
        "deg",
        "°",
    ];
    let value = reading(word, &words, Marks::Decimal, 3, EXAMPLE, |_| true, BOUNDS)?;
    match unit {
        TemperatureUnit::Celsius => Celsius::new(value),
        TemperatureUnit::Fahrenheit => Celsius::from_fahrenheit(value),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn d(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn the_two_scales_meet_where_they_are_known_to() {
        // By definition of the scales: 32 °F = 0 °C, 212 °F = 100 °C, −40 on both; absolute zero −459.67 °F.
        for (fahrenheit, celsius) in
            [("32", 0), ("212", 10_000), ("-40", -4_000), ("-459.67", -27_315), ("41", 500)]
        {
            let temperature = Celsius::from_fahrenheit(d(fahrenheit)).unwrap();
            assert_eq!(temperature, Celsius::hundredths(celsius));
            assert_eq!(temperature.fahrenheit(), d(fahrenheit));
        }
    }

    #[test]
    fn temperatures_are_typed_as_people_say_them() {
        use TemperatureUnit::{Celsius as C, Fahrenheit as F};
        for (typed, bare, celsius) in [
            ("38F", C, "3.33"),
            ("38 °F", C, "3.33"),
            ("38 ℉", C, "3.33"),
            ("38 Fahrenheit", C, "3.33"),
            ("38 degrees f", C, "3.33"),
            ("38", F, "3.33"),
            ("3.5 C", F, "3.50"),
            ("3,5", C, "3.50"),
            ("3,5°", C, "3.50"),
            ("-18", C, "-18.00"),
            ("\u{2212}18 °C", F, "-18.00"),
            ("- 18 ° c", F, "-18.00"),
            ("+4", C, "4.00"),
            ("0", C, "0.00"),
            ("-0", C, "0.00"),
            ("0 F", C, "-17.78"),
        ] {
            assert_eq!(
                parse_temperature(typed, bare).map(|t| t.to_string()).as_deref(),
                Ok(celsius),
                "{typed}"
            );
        }
    }

    #[test]
    fn what_no_probe_can_read_is_refused() {
        use TemperatureUnit::{Celsius as C, Fahrenheit as F};
        for (typed, bare) in
            [("-273.16", C), ("400.01", C), ("-460", F), ("753", F), ("99999999999999999999", C)]
        {
            assert_eq!(parse_temperature(typed, bare), Err(BOUNDS), "{typed}");
        }
        assert_eq!(BOUNDS.to_string(), "A temperature must be from \u{2212}273.15 °C to 400 °C.");
        for typed in ["", "cold", "C", "3.5 K", "3-5", "--3", "3.5 C F"] {
            assert!(parse_temperature(typed, C).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_temperature_is_shown_in_the_shops_unit_first() {
        let chilled = Celsius::hundredths(280);
        assert_eq!(chilled.text(UnitSystem::Metric), "2.8 °C");
        assert_eq!(chilled.both(UnitSystem::Us), ("37.0 °F".into(), "2.8 °C".into()));
        assert_eq!(Celsius::whole(-18).text(UnitSystem::Metric), "\u{2212}18.0 °C");
    }

    proptest! {
        #[test]
        fn a_printed_temperature_reads_back_to_its_tenth(hundredths in -27_300_i32..39_990) {
            let temperature = Celsius::hundredths(hundredths);
            for system in UnitSystem::ALL {
                let read = parse_temperature(&temperature.text(system), TemperatureUnit::Celsius).unwrap();
                prop_assert!((read.decimal() - temperature.decimal()).abs() <= d("0.05"));
            }
            let body = serde_json::to_string(&temperature).unwrap();
            prop_assert_eq!(serde_json::from_str::<Celsius>(&body).unwrap(), temperature);
        }
    }
}
