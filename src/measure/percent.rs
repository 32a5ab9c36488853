//! Per cent, of weight unless said otherwise.

use std::fmt;

use rust_decimal::Decimal;

use super::grams::Grams;
use super::print::figure;
use super::readings::ReadingError;
use super::stored::{StoredError, decimal_column, exact, shortest};
use super::typed::{LONGEST, Marks, Unread, amount, tidy};

/// A per cent figure: 12.5 is 12.5 %. At most four decimals; may be negative, as a gain is a negative loss.
///
/// Stored as its shortest decimal, `"12.5"`, and as NUMERIC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Percent(Decimal);

decimal_column!(Percent);

const PLACES: u32 = 4;
const EXAMPLE: &str = "2.5 or 2.5 %";

impl Percent {
    /// 0 %.
    pub const ZERO: Self = Self(Decimal::ZERO);
    /// 10 %.
    pub const TEN: Self = Self(Decimal::TEN);
    /// 100 %.
    pub const HUNDRED: Self = Self(Decimal::ONE_HUNDRED);

    /// Rounded to four decimals, half away from zero.
    pub fn new(percent: Decimal) -> Self {
        Self(shortest(percent, PLACES))
    }

    /// What share `part` is of `whole`; 0 % when the whole is nothing.
    pub fn of(part: Grams, whole: Grams) -> Self {
        if whole.is_zero() {
            return Self::ZERO;
        }
        Self::new(part.decimal() * Decimal::ONE_HUNDRED / whole.decimal())
    }

    fn from_stored(value: Decimal) -> Result<Self, StoredError> {
        exact(value, PLACES).map(Self::new)
    }

    /// The figure: 12.5 for 12.5 %.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// The factor: 0.125 for 12.5 %.
    pub fn fraction(self) -> Decimal {
        self.0 / Decimal::ONE_HUNDRED
    }

    /// So much of a weight, rounded to 0.01 g.
    pub fn of_weight(self, whole: Grams) -> Grams {
        whole.times(self.fraction())
    }

    /// `24.8 %`.
    pub fn text(self) -> String {
        self.text_places(1)
    }

    /// With so many decimals: `24.85 %`.
    pub fn text_places(self, places: u32) -> String {
        format!("{} %", figure(self.0, places))
    }
}

/// The canonical form: `12.5`.
impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl std::ops::Add for Percent {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self::new(self.0 + other.0)
    }
}

impl std::ops::Sub for Percent {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self::new(self.0 - other.0)
    }
}

impl std::iter::Sum for Percent {
    fn sum<I: Iterator<Item = Self>>(shares: I) -> Self {
        shares.fold(Self::ZERO, std::ops::Add::add)
    }
}

/// Reads `2.5`, `2,5 %`, `2 1/2 per cent`, from 0 to 1000 with at most four decimals.
pub fn parse_percent(text: &str) -> Result<Percent, ReadingError> {
    let out_of_range =
        ReadingError::OutOfRange { what: "A per cent figure here", low: "0 %", high: "1000 %" };
    let tidied = tidy(text);
    if tidied.is_empty() {
        return Err(ReadingError::Empty { example: EXAMPLE });
    }
    if text.trim().chars().count() > LONGEST {
        return Err(ReadingError::TooLong { example: EXAMPLE });
    }
    let number = ["%", "per cent", "percent", "pct"]
        .into_iter()
        .find_map(|word| tidied.strip_suffix(word))
        .unwrap_or(&tidied);
    let value = match amount(number, Marks::Decimal) {
        Ok(amount) => amount.value(),
        Err(Unread::Negative | Unread::TooLarge) => return Err(out_of_range),
        Err(_) => return Err(ReadingError::NotUnderstood { example: EXAMPLE }),
    };
    if value > Decimal::ONE_THOUSAND {
        return Err(out_of_range);
    }
    if !tidied.contains('/') && value.normalize().scale() > PLACES {
        return Err(ReadingError::TooFine { places: PLACES });
    }
    Ok(Percent::new(value))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn shares_of_a_carcass_read_with_one_decimal() {
        let carcass = Grams::whole(92_400);
        assert_eq!(Percent::of(Grams::whole(22_960), carcass).text(), "24.8 %");
        assert_eq!(Percent::of(Grams::whole(-92), carcass).text(), "\u{2212}0.1 %");
        assert_eq!(Percent::of(Grams::whole(-9), carcass).text(), "0.0 %");
        assert_eq!(Percent::of(carcass, carcass), Percent::HUNDRED);
    }

    #[test]
    fn salt_for_a_piece_is_weighed_to_the_hundredth() {
        let salt = Percent::new("2.75".parse().unwrap());
        assert_eq!(salt.of_weight(Grams::whole(1_742)).to_string(), "47.91");
        assert_eq!(salt.fraction().to_string(), "0.0275");
    }

    #[test]
    fn per_cent_is_typed_with_or_without_its_sign() {
        for (typed, canonical) in [
            ("2.5", "2.5"),
            ("2,50 %", "2.5"),
            ("0,250%", "0.25"),
            ("1/3 per cent", "0.3333"),
            ("2½ %", "2.5"),
            ("100", "100"),
            ("0", "0"),
            ("6.25 percent", "6.25"),
        ] {
            assert_eq!(parse_percent(typed).map(|p| p.to_string()).as_deref(), Ok(canonical), "{typed}");
        }
    }

    #[test]
    fn what_is_no_per_cent_is_refused() {
        for typed in ["", "%", "-1", "1000.1", "1.23456", "a lot", "5 % 3", "5 g", &"1".repeat(41)] {
            assert!(parse_percent(typed).is_err(), "{typed}");
        }
        assert_eq!(
            parse_percent("-1").unwrap_err().to_string(),
            "A per cent figure here must be from 0 % to 1000 %."
        );
    }

    #[test]
    fn a_stored_per_cent_has_at_most_four_decimals() {
        assert_eq!(serde_json::from_str::<Percent>("\"12.50\"").unwrap().to_string(), "12.5");
        assert!(serde_json::from_str::<Percent>("\"1.00001\"").is_err());
    }

    proptest! {
        #[test]
        fn a_printed_per_cent_reads_back(parts in 0_i64..10_000_000) {
            let percent = Percent::new(Decimal::new(parts, 4));
            prop_assert_eq!(parse_percent(&percent.text_places(4)).unwrap(), percent);
            let body = serde_json::to_string(&percent).unwrap();
            prop_assert_eq!(serde_json::from_str::<Percent>(&body).unwrap(), percent);
        }
    }
}
