//! Weight: grams to the hundredth, in and out of the two systems that shops use.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub, SubAssign};

use rust_decimal::Decimal;

use super::Percent;
use super::print::{figure, grouped, short_figure, signed};
use super::stored::{StoredError, decimal_column, exact, fixed};
use super::units::{UnitSystem, WeightUnit};

/// A weight, or with its sign a movement of weight, in grams with exactly two decimals (0.01 g).
///
/// Stored as `"3180.00"` and as NUMERIC. A stored weight has at most two decimals and is at most 10^15 g either way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Grams(Decimal);

decimal_column!(Grams);

const PLACES: u32 = 2;

impl Grams {
    /// Nothing on the scale.
    pub const ZERO: Self = Self(Decimal::from_parts(0, 0, 0, false, PLACES));

    /// Rounded to 0.01 g, half away from zero.
    pub fn new(grams: Decimal) -> Self {
        Self(fixed(grams, PLACES))
    }

    /// Whole grams.
    pub fn whole(grams: i64) -> Self {
        Self::new(Decimal::from(grams))
    }

    /// An amount in a unit, rounded to 0.01 g.
    pub fn of(amount: Decimal, unit: WeightUnit) -> Self {
        Self::new(amount * unit.grams())
    }

    fn from_stored(value: Decimal) -> Result<Self, StoredError> {
        exact(value, PLACES).map(Self::new)
    }

    /// In grams, always with two decimals.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// In a unit, not rounded beyond what 28 digits hold.
    pub fn in_unit(self, unit: WeightUnit) -> Decimal {
        self.0 / unit.grams()
    }

    /// More than nothing.
    pub fn is_positive(self) -> bool {
        self > Self::ZERO
    }

    /// Less than nothing: a movement out.
    pub fn is_negative(self) -> bool {
        self < Self::ZERO
    }

    /// Exactly nothing.
    pub const fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// The weight without its sign.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Scaled by a factor and rounded to 0.01 g.
    #[must_use]
    pub fn times(self, factor: Decimal) -> Self {
        Self::new(self.0 * factor)
    }

    /// What share of `whole` this is; 0 % of nothing.
    pub fn share_of(self, whole: Self) -> Percent {
        Percent::of(self, whole)
    }

    /// `92.40 kg`; to the gram below 10 kg, `1.742 kg`; below 1 kg in grams, `925 g`, `12.5 g`.
    pub fn metric(self) -> String {
        let (number, unit) = self.metric_figure();
        format!("{number} {unit}")
    }

    /// `203 lb 11 oz`; to 0.1 oz below 10 lb, `3 lb 13.4 oz`, `4.2 oz`.
    ///
    /// Below an ounce to 0.001 oz, `0.009 oz`: a tenth of an ounce is 2.8 g, too coarse for a cure.
    pub fn imperial(self) -> String {
        let ounces = self.in_unit(WeightUnit::Ounce);
        let ten_pounds = Decimal::from(160);
        let places = u32::from(fixed(ounces, 1).abs() < ten_pounds);
        let (sign, ounces) = signed(ounces, places);
        let sixteen = Decimal::from(16);
        let (pounds, rest) = ((ounces / sixteen).trunc().normalize(), fixed(ounces % sixteen, places));
        if pounds.is_zero() { self.ounces() } else { format!("{sign}{pounds} lb {rest} oz") }
    }

    /// Ounces of what is under a pound.
    fn ounces(self) -> String {
        let ounces = self.in_unit(WeightUnit::Ounce);
        if self.is_zero() {
            "0 oz".to_owned()
        } else if fixed(ounces, 3).abs() < Decimal::ONE {
            format!("{} oz", figure(ounces, 3))
        } else {
            format!("{} oz", figure(ounces, 1))
        }
    }

    /// As [`Grams::metric`] or [`Grams::imperial`].
    pub fn in_system(self, system: UnitSystem) -> String {
        match system {
            UnitSystem::Metric => self.metric(),
            UnitSystem::Us => self.imperial(),
        }
    }

    /// In the shop's system, then in the other.
    pub fn both(self, system: UnitSystem) -> (String, String) {
        (self.in_system(system), self.in_system(system.other()))
    }

    /// A figure and its unit apart, for big figures: `92.40` and `kg`, `203.71` and `lb`.
    ///
    /// Pounds have two decimals, three below 10 lb; what is under a pound is in ounces.
    pub fn figure(self, system: UnitSystem) -> (String, &'static str) {
        match system {
            UnitSystem::Metric => self.metric_figure(),
            UnitSystem::Us => self.pound_figure(),
        }
    }

    fn metric_figure(self) -> (String, &'static str) {
        if self.0.abs() < WeightUnit::Kilogram.grams() {
            return (short_figure(self.0, PLACES), "g");
        }
        let kilograms = self.in_unit(WeightUnit::Kilogram);
        let places = if fixed(kilograms, 3).abs() < Decimal::TEN { 3 } else { 2 };
        let (sign, size) = signed(kilograms, places);
        let size = if size < Decimal::from(10_000) { size.to_string() } else { grouped(size) };
        (format!("{sign}{size}"), "kg")
    }

    fn pound_figure(self) -> (String, &'static str) {
        if self.0.abs() < WeightUnit::Pound.grams() {
            let text = self.ounces();
            return (text.trim_end_matches(" oz").to_owned(), "oz");
        }
        let pounds = self.in_unit(WeightUnit::Pound);
        let places = if fixed(pounds, 3).abs() < Decimal::TEN { 3 } else { 2 };
        (figure(pounds, places), "lb")
    }
}

/// The canonical form: `3180.00`.
impl fmt::Display for Grams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2}", self.0)
    }
}

impl Default for Grams {
    fn default() -> Self {
        Self::ZERO
    }
}

impl Add for Grams {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self::new(self.0 + other.0)
    }
}

impl Sub for Grams {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self::new(self.0 - other.0)
    }
}

impl Neg for Grams {
    type Output = Self;

    fn neg(self) -> Self {
        Self::new(-self.0)
    }
}

impl AddAssign for Grams {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Grams {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Sum for Grams {
    fn sum<I: Iterator<Item = Self>>(weights: I) -> Self {
        weights.fold(Self::ZERO, Add::add)
    }
}

impl<'a> Sum<&'a Grams> for Grams {
    fn sum<I: Iterator<Item = &'a Grams>>(weights: I) -> Self {
        weights.copied().sum()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn grams(text: &str) -> Grams {
        Grams::new(text.parse().unwrap())
    }

    #[test]
    fn a_weight_keeps_two_decimals_and_rounds_half_away_from_zero() {
        assert_eq!(grams("0.005").to_string(), "0.01");
        assert_eq!(grams("-0.005").to_string(), "-0.01");
        assert_eq!(grams("-0.001").to_string(), "0.00");
        assert_eq!((-Grams::ZERO).to_string(), "0.00");
        assert_eq!(Grams::whole(3180).decimal().scale(), 2);
    }

    #[test]
    fn a_weight_is_stored_as_a_string_with_two_decimals() {
        assert_eq!(serde_json::to_string(&Grams::whole(3180)).unwrap(), "\"3180.00\"");
        assert_eq!(serde_json::from_str::<Grams>("\"3180.00\"").unwrap(), Grams::whole(3180));
        assert_eq!(serde_json::from_str::<Grams>("\"3180\"").unwrap().to_string(), "3180.00");
        for bad in ["\"0.001\"", "3180", "\"3,180\"", "\"1e3\"", "\"9000000000000000\"", "\"\"", "null"] {
            assert!(serde_json::from_str::<Grams>(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn metric_weights_read_as_on_the_scale() {
        for (weight, print) in [
            ("92400", "92.40 kg"),
            ("1742", "1.742 kg"),
            ("1000", "1.000 kg"),
            ("9999.49", "9.999 kg"),
            ("9999.50", "10.00 kg"),
            ("999.99", "999.99 g"),
            ("925", "925 g"),
            ("12.5", "12.5 g"),
            ("0.25", "0.25 g"),
            ("0", "0 g"),
            ("-112", "\u{2212}112 g"),
            ("-3180", "\u{2212}3.180 kg"),
            ("9999990", "9999.99 kg"),
            ("12345600", "12,345.60 kg"),
        ] {
            assert_eq!(grams(weight).metric(), print, "{weight}");
        }
    }

    #[test]
    fn us_weights_read_in_pounds_and_ounces() {
        // Arithmetic with NIST SP 811's exact pound: 92,400 / 453.59237 = 203 lb and 320.74892 g, 11.314 oz.
        for (weight, print) in [
            ("92400", "203 lb 11 oz"),
            ("1742", "3 lb 13.4 oz"),
            ("119.07", "4.2 oz"),
            ("453.59", "1 lb 0.0 oz"),
            ("452", "15.9 oz"),
            ("4535.92", "10 lb 0 oz"),
            ("4534", "9 lb 15.9 oz"),
            ("4535", "10 lb 0 oz"),
            ("28.35", "1.0 oz"),
            ("28.2", "0.995 oz"),
            ("0.25", "0.009 oz"),
            ("0", "0 oz"),
            ("-112", "\u{2212}4.0 oz"),
            ("-1742", "\u{2212}3 lb 13.4 oz"),
        ] {
            assert_eq!(grams(weight).imperial(), print, "{weight}");
        }
    }

    #[test]
    fn the_shops_own_system_comes_first() {
        let carcass = Grams::whole(92_400);
        assert_eq!(carcass.both(UnitSystem::Metric), ("92.40 kg".into(), "203 lb 11 oz".into()));
        assert_eq!(carcass.both(UnitSystem::Us), ("203 lb 11 oz".into(), "92.40 kg".into()));
        assert_eq!(carcass.figure(UnitSystem::Metric), ("92.40".into(), "kg"));
        assert_eq!(carcass.figure(UnitSystem::Us), ("203.71".into(), "lb"));
        assert_eq!(grams("119.07").figure(UnitSystem::Us), ("4.2".into(), "oz"));
        assert_eq!(grams("925").figure(UnitSystem::Metric), ("925".into(), "g"));
    }

    #[test]
    fn a_share_of_nothing_is_nothing() {
        assert_eq!(Grams::whole(5).share_of(Grams::ZERO), Percent::ZERO);
        assert_eq!(Grams::whole(22_960).share_of(Grams::whole(92_400)).text(), "24.8 %");
    }

    #[test]
    fn a_stated_cutting_test_gives_its_stated_yield() {
        // Published cutting test of a boneless butt: 15.91 lb gave 14.02 lb, 88.12 %.
        let source = Grams::of("15.91".parse().unwrap(), WeightUnit::Pound);
        let boneless = Grams::of("14.02".parse().unwrap(), WeightUnit::Pound);
        assert_eq!(boneless.share_of(source).text_places(2), "88.12 %");
    }

    proptest! {
        #[test]
        fn what_is_stored_comes_back_the_same(hundredths in -10_000_000_000_i64..10_000_000_000) {
            let weight = Grams::new(Decimal::new(hundredths, 2));
            let body = serde_json::to_string(&weight).unwrap();
            prop_assert_eq!(serde_json::from_str::<Grams>(&body).unwrap(), weight);
            prop_assert_eq!(weight.decimal().scale(), 2);
        }

        #[test]
        fn movements_that_cancel_leave_nothing(parts in prop::collection::vec(-1_000_000_i64..1_000_000, 0..20)) {
            let moved: Vec<Grams> = parts.iter().map(|&part| Grams::new(Decimal::new(part, 2))).collect();
            let total: Grams = moved.iter().sum();
            let back: Grams = moved.iter().map(|&part| -part).sum();
            prop_assert_eq!(total + back, Grams::ZERO);
            prop_assert_eq!((total + back).to_string(), "0.00");
        }
    }
}
