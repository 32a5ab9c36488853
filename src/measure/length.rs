//! Lengths on paper: the width and height of a label, its margins.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::readings::ReadingError;
use super::stored::{StoredError, decimal_column, exact, fixed, shortest};
use super::typed::{LONGEST, Marks, amount, tidy};
use super::units::UnitError;

/// Millimetres with four decimals, so that thousandths of an inch are kept exactly. From 0 to 1000 mm when typed.
///
/// Stored as `"101.6000"` and as NUMERIC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(Decimal);

decimal_column!(Length);

const PLACES: u32 = 4;
/// Millimetres in an inch, exact: NIST SP 811 (2008), appendix B.8.
const INCH: Decimal = Decimal::from_parts(254, 0, 0, false, 1);
const EXAMPLE: &str = "62 mm or 4 in";

/// What a label is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum LengthUnit {
    #[serde(rename = "mm")]
    Millimetre,
    #[serde(rename = "in")]
    Inch,
}

impl LengthUnit {
    pub const ALL: [Self; 2] = [Self::Millimetre, Self::Inch];

    /// `mm` or `in`: also what a style sheet calls it.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Inch => "in",
        }
    }

    const fn millimetres(self) -> Decimal {
        match self {
            Self::Millimetre => Decimal::ONE,
            Self::Inch => INCH,
        }
    }
}

impl FromStr for LengthUnit {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        Self::ALL.into_iter().find(|unit| unit.symbol() == text).ok_or_else(|| UnitError(text.to_owned()))
    }
}

impl Length {
    pub const ZERO: Self = Self(Decimal::from_parts(0, 0, 0, false, PLACES));

    /// Rounded to four decimals of a millimetre.
    pub fn new(millimetres: Decimal) -> Self {
        Self(fixed(millimetres, PLACES))
    }

    pub fn of(number: Decimal, unit: LengthUnit) -> Self {
        Self::new(number * unit.millimetres())
    }

    fn from_stored(value: Decimal) -> Result<Self, StoredError> {
        if value.is_sign_negative() {
            return Err(StoredError::OutOfRange(value));
        }
        exact(value, PLACES).map(Self::new)
    }

    /// Millimetres.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// The number of it, without trailing zeros: `101.6` mm, `4` in.
    pub fn number(self, unit: LengthUnit) -> Decimal {
        shortest(self.0 / unit.millimetres(), PLACES)
    }

    /// As a style sheet reads it: `101.6mm`, `4in`.
    pub fn css(self, unit: LengthUnit) -> String {
        format!("{}{}", self.number(unit), unit.symbol())
    }
}

/// Millimetres with four decimals: the stored form.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl std::ops::Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.0 + other.0)
    }
}

/// Reads `62`, `62 mm`, `10 cm`, `4 in`, `2 1/4 in`, `2,25"`; a bare number takes the unit beside the field. From 0 to
/// 1000 mm.
pub fn parse_length(text: &str, bare: LengthUnit) -> Result<Length, ReadingError> {
    if text.trim().chars().count() > LONGEST {
        return Err(ReadingError::TooLong { example: EXAMPLE });
    }
    let tidied = tidy(text);
    if tidied.is_empty() {
        return Err(ReadingError::Empty { example: EXAMPLE });
    }
    let inch = LengthUnit::Inch.millimetres();
    let words = [
        ("mm", Decimal::ONE),
        ("cm", Decimal::TEN),
        ("inches", inch),
        ("inch", inch),
        ("in", inch),
        ("\"", inch),
        ("″", inch),
    ];
    let found = words.iter().find_map(|(word, factor)| tidied.strip_suffix(word).map(|rest| (rest, *factor)));
    let (number, factor) = found.unwrap_or((&tidied, bare.millimetres()));
    let out = ReadingError::OutOfRange { what: "A length here", low: "0 mm", high: "1000 mm" };
    let read = amount(number, Marks::Decimal);
    let read = read.map_err(|unread| match unread {
        super::typed::Unread::Negative | super::typed::Unread::TooLarge => out.clone(),
        _ => ReadingError::NotUnderstood { example: EXAMPLE },
    })?;
    let length = read.times(factor).map(Length::new).ok_or_else(|| out.clone())?;
    if length > Length::new(Decimal::ONE_THOUSAND) { Err(out) } else { Ok(length) }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    fn read(text: &str) -> Option<Decimal> {
        parse_length(text, LengthUnit::Millimetre).ok().map(Length::decimal)
    }

    #[test]
    fn a_length_is_read_in_millimetres_and_in_inches() {
        assert_eq!(read("62"), Some(dec!(62)));
        assert_eq!(read("62,5 mm"), Some(dec!(62.5)));
        assert_eq!(read("10 cm"), Some(dec!(100)));
        // 25.4 mm to the inch, exact: NIST SP 811, appendix B.8.
        assert_eq!(read("4 in"), Some(dec!(101.6)));
        assert_eq!(read("2 1/4\""), Some(dec!(57.15)));
        assert_eq!(parse_length("1.125", LengthUnit::Inch).unwrap().decimal(), dec!(28.575));
    }

    #[test]
    fn what_is_no_length_on_paper_is_refused() {
        for typed in ["", "wide", "-3", "1001", "62 kg", "4 in 3", "1e3", &"9".repeat(60)] {
            assert_eq!(read(typed), None, "{typed}");
        }
    }

    #[test]
    fn a_style_sheet_reads_it_in_the_unit_that_the_shop_typed() {
        let four = parse_length("4", LengthUnit::Inch).unwrap();
        assert_eq!(four.css(LengthUnit::Inch), "4in");
        assert_eq!(four.css(LengthUnit::Millimetre), "101.6mm");
    }
}
