//! Prices by weight.

use std::fmt;

use rust_decimal::Decimal;

use super::currency::Currency;
use super::grams::Grams;
use super::money::{Money, MoneyError, cut, read, with_currency};
use super::print::{grouped, signed};
use super::stored::{StoredError, decimal_column, exact, fixed};
use super::typed::Marks;
use super::units::WeightUnit;

/// Money per kilogram with four decimals, so that a price per pound survives the change of unit.
///
/// Stored as `"4.2000"` and as NUMERIC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PricePerKg(Decimal);

decimal_column!(PricePerKg);

const PLACES: u32 = 4;

impl PricePerKg {
    /// For nothing.
    pub const ZERO: Self = Self(Decimal::from_parts(0, 0, 0, false, PLACES));

    /// Rounded to four decimals, half away from zero.
    pub fn new(price: Decimal) -> Self {
        Self(fixed(price, PLACES))
    }

    /// From a price per unit of weight.
    pub fn per(price: Decimal, unit: WeightUnit) -> Self {
        Self::new(price * WeightUnit::Kilogram.grams() / unit.grams())
    }

    /// What was paid by what it weighed; nothing when it weighed nothing.
    pub fn of(cost: Money, weight: Grams) -> Option<Self> {
        if weight.is_zero() {
            None
        } else {
            Some(Self::per(cost.decimal() / weight.decimal(), WeightUnit::Gram))
        }
    }

    fn from_stored(value: Decimal) -> Result<Self, StoredError> {
        exact(value, PLACES).map(Self::new)
    }

    /// Per kilogram, always with four decimals.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// The price of one unit of weight, not rounded.
    pub fn in_unit(self, unit: WeightUnit) -> Decimal {
        self.0 * unit.grams() / WeightUnit::Kilogram.grams()
    }

    /// What a weight costs, rounded once to the hundredth, half away from zero, as on an invoice line.
    pub fn cost(self, weight: Grams) -> Money {
        Money::new(self.0 * weight.decimal() / WeightUnit::Kilogram.grams())
    }

    /// `£4.20/kg`, `£1.91/lb`, `4.20 SEK/kg`.
    pub fn text(self, currency: &Currency, unit: WeightUnit) -> String {
        let (sign, size) = signed(self.in_unit(unit), 2);
        format!("{}/{unit}", with_currency(sign, &grouped(size), *currency))
    }
}

/// The canonical form: `4.2000`.
impl fmt::Display for PricePerKg {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.4}", self.0)
    }
}

/// Reads `4.20`, `4,20`, `£4.20`, `4.20/lb`, `4.20 per kg`. A bare price is per `per`, the unit shown beside the field.
/// Whatever currency is named is not looked at; see [`parse_price_in`].
pub fn parse_price(text: &str, per: WeightUnit) -> Result<PricePerKg, MoneyError> {
    Ok(split(text, per)?.0)
}

/// As [`parse_price`], and refuses a price that names another currency than the shop's.
pub fn parse_price_in(text: &str, per: WeightUnit, currency: Currency) -> Result<PricePerKg, MoneyError> {
    let (price, named) = split(text, per)?;
    named.same_as(currency)?;
    Ok(price)
}

fn split(text: &str, per: WeightUnit) -> Result<(PricePerKg, super::money::Named), MoneyError> {
    let lowered = text.to_lowercase();
    let cut_off = lowered.split_once('/').or_else(|| lowered.split_once(" per "));
    let (amount, unit) = match cut_off {
        Some((amount, word)) => (amount, word.trim().parse().map_err(|_| MoneyError::NotAPrice)?),
        None => (lowered.as_str(), per),
    };
    let (number, named) = cut(amount)?;
    let value = read(&number, Marks::Careful, PLACES).map_err(|error| match error {
        MoneyError::NotUnderstood => MoneyError::NotAPrice,
        other => other,
    })?;
    Ok((PricePerKg::per(value, unit), named))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn price(text: &str) -> PricePerKg {
        PricePerKg::new(text.parse().unwrap())
    }

    #[test]
    fn a_price_is_typed_by_kilogram_or_by_pound() {
        use WeightUnit::{Kilogram, Pound};
        for (typed, per, stored) in [
            ("4.20", Kilogram, "4.2000"),
            ("4,20", Kilogram, "4.2000"),
            ("£4.20", Kilogram, "4.2000"),
            ("4.20/lb", Kilogram, "9.2594"),
            ("4.20", Pound, "9.2594"),
            ("4.20/kg", Pound, "4.2000"),
            ("$4.20 per LB", Kilogram, "9.2594"),
            ("€4,20 / kg", Pound, "4.2000"),
            ("4.20 sek/kg", Pound, "4.2000"),
            ("0.0012/g", Kilogram, "1.2000"),
        ] {
            assert_eq!(parse_price(typed, per).map(|p| p.to_string()).as_deref(), Ok(stored), "{typed}");
        }
        for typed in
            ["", "/kg", "4.20/stone", "4.20/", "dear", "-4", "4,200", "1.00001", "4/5/kg", &"4".repeat(60)]
        {
            assert!(parse_price(typed, Kilogram).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_price_in_foreign_money_is_refused_when_asked_for_the_shops() {
        let pounds = Currency::parse("GBP").unwrap();
        assert!(parse_price_in("£4.20/lb", WeightUnit::Kilogram, pounds).is_ok());
        assert!(parse_price_in("€4.20/lb", WeightUnit::Kilogram, pounds).is_err());
    }

    #[test]
    fn a_carcass_costs_its_weight_times_its_price() {
        assert_eq!(price("4.20").cost(Grams::whole(92_400)).to_string(), "388.08");
        assert_eq!(price("0.01").cost(Grams::whole(500)).to_string(), "0.01");
        // Open textbook, cook's trade arithmetic: 5.2 kg at 11.95 a kg, 4.6 kg usable, 13.51 a usable kg.
        let paid = price("11.95").cost(Grams::whole(5_200));
        assert_eq!(
            fixed(PricePerKg::of(paid, Grams::whole(4_600)).unwrap().decimal(), 2).to_string(),
            "13.51"
        );
        assert_eq!(PricePerKg::of(paid, Grams::ZERO), None);
    }

    #[test]
    fn a_price_is_shown_in_the_unit_asked_for() {
        let pounds = Currency::parse("GBP").unwrap();
        assert_eq!(price("4.2").text(&pounds, WeightUnit::Kilogram), "£4.20/kg");
        assert_eq!(price("4.2").text(&pounds, WeightUnit::Pound), "£1.91/lb");
        assert_eq!(price("4.2").text(&Currency::parse("SEK").unwrap(), WeightUnit::Kilogram), "4.20 SEK/kg");
    }

    proptest! {
        #[test]
        fn a_price_per_pound_comes_back_from_kilograms(cents in 0_i64..100_000) {
            let per_pound = Decimal::new(cents, 2);
            let price = PricePerKg::per(per_pound, WeightUnit::Pound);
            prop_assert_eq!(fixed(price.in_unit(WeightUnit::Pound), 2), per_pound);
        }
    }
}
