//! A weight as it was typed, before the ledger takes it to 0.01 g.

use std::fmt;

use rust_decimal::Decimal;

use super::grams::Grams;
use super::stored::{StoredError, decimal_column, exact, shortest};

/// Grams with all that was typed: 4 oz are 113.398092500 g and not 113.40. Twelve decimals hold every sixteenth of an
/// ounce exactly. Grams move in the ledger; a limit is held against these.
///
/// Stored as its shortest decimal, `"113.3980925"`, and as NUMERIC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct ExactGrams(Decimal);

decimal_column!(ExactGrams);

const PLACES: u32 = 12;

impl ExactGrams {
    /// Nothing on the scale.
    pub const ZERO: Self = Self(Decimal::ZERO);

    /// Rounded to twelve decimals, which only thirds and the like ask for.
    pub fn new(grams: Decimal) -> Self {
        Self(shortest(grams, PLACES))
    }

    fn from_stored(value: Decimal) -> Result<Self, StoredError> {
        exact(value, PLACES).map(Self::new)
    }

    /// In grams.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// As the ledger takes it, to 0.01 g.
    pub fn grams(self) -> Grams {
        Grams::new(self.0)
    }

    /// What has to be kept beside the ledger's grams: nothing where they say it all.
    pub fn beside(self) -> Option<Self> {
        (self.0 != self.grams().decimal()).then_some(self)
    }
}

impl From<Grams> for ExactGrams {
    fn from(grams: Grams) -> Self {
        Self::new(grams.decimal())
    }
}

/// The canonical form: `113.3980925`.
impl fmt::Display for ExactGrams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    #[test]
    fn what_the_ledger_rounds_away_is_kept_beside_it() {
        let four_ounces = ExactGrams::new(dec!(113.3980925));
        assert_eq!(four_ounces.grams().to_string(), "113.40");
        assert_eq!(four_ounces.beside(), Some(four_ounces));
        assert_eq!(ExactGrams::new(dec!(12.50)).beside(), None);
        assert_eq!(serde_json::to_string(&four_ounces).unwrap(), "\"113.3980925\"");
    }
}
