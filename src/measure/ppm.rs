//! Parts per million by mass, mg per kg.

use std::fmt;

use rust_decimal::Decimal;

use super::print::{grouped, signed};
use super::readings::{ReadingError, reading};
use super::stored::{StoredError, decimal_column, exact, shortest};
use super::typed::Marks;

/// Milligrams per kilogram, with at most four decimals. Negative only as a difference.
///
/// Stored as its shortest decimal, `"156.25"`, and as NUMERIC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Ppm(Decimal);

decimal_column!(Ppm);

const PLACES: u32 = 4;

impl Ppm {
    /// None of it.
    pub const ZERO: Self = Self(Decimal::ZERO);

    /// Rounded to four decimals, half away from zero.
    pub fn new(ppm: Decimal) -> Self {
        Self(shortest(ppm, PLACES))
    }

    fn from_stored(value: Decimal) -> Result<Self, StoredError> {
        exact(value, PLACES).map(Self::new)
    }

    /// The figure.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// Whole parts per million, `148 ppm`.
    pub fn text(self) -> String {
        let (sign, size) = signed(self.0, 0);
        format!("{sign}{} ppm", grouped(size))
    }
}

/// The canonical form: `156.25`.
impl fmt::Display for Ppm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl std::ops::Add for Ppm {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self::new(self.0 + other.0)
    }
}

impl std::ops::Sub for Ppm {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self::new(self.0 - other.0)
    }
}

impl std::iter::Sum for Ppm {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::ZERO, std::ops::Add::add)
    }
}

/// Reads `150`, `150 ppm`, `150 mg/kg`, `1,718 ppm`, from 0 to 1,000,000. A comma before three last digits sets off
/// thousands, as it does where we print it; a point there is refused.
pub fn parse_ppm(text: &str) -> Result<Ppm, ReadingError> {
    let low = Decimal::ZERO;
    let high = Decimal::from(1_000_000);
    let bounds = ReadingError::OutOfRange { what: "A reading in ppm", low: "0", high: "1,000,000" };
    let value = reading(
        text,
        &["ppm", "mg/kg"],
        Marks::Money,
        PLACES,
        "150 ppm",
        |value| value >= low && value <= high,
        bounds,
    )?;
    Ok(Ppm::new(value))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ppm_are_printed_whole_and_stored_exactly() {
        let ingoing = Ppm::new("156.25".parse().unwrap());
        assert_eq!(ingoing.text(), "156 ppm");
        assert_eq!(serde_json::to_string(&ingoing).unwrap(), "\"156.25\"");
        assert_eq!(Ppm::new("487.5".parse().unwrap()).text(), "488 ppm");
    }

    #[test]
    fn a_ppm_figure_with_thousands_reads_back() {
        // 9 CFR 424.21(c) allows 1718 ppm of nitrate in comminuted product; printed with its comma.
        let nitrate = Ppm::new(Decimal::from(1718));
        assert_eq!(nitrate.text(), "1,718 ppm");
        assert_eq!(parse_ppm(&nitrate.text()), Ok(nitrate));
    }

    #[test]
    fn a_sanitizer_strip_is_typed_with_or_without_its_unit() {
        for typed in ["150", "150 ppm", "150PPM", "150 mg/kg", "150,0"] {
            assert_eq!(parse_ppm(typed).unwrap().text(), "150 ppm", "{typed}");
        }
        for typed in ["", "-1", "1000001", "about 150", "ppm", "1.718"] {
            assert!(parse_ppm(typed).is_err(), "{typed}");
        }
    }
}
