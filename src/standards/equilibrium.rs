//! Equilibrium cure: how long it takes at the least by common practice, and what a piece weighs after it. Nothing here is law: a
//! thick piece may need longer, and salt in its middle is measured, not reckoned.

use rust_decimal::{Decimal, RoundingStrategy};

use super::Change;
use super::figure::{self, BadFigure};
use crate::measure::{Grams, Length, WeightUnit};

/// Days to an inch of thickness: common practice.
const DAYS_AN_INCH: Decimal = Decimal::from_parts(7, 0, 0, false, 0);
/// Days to a pound of a heavy piece: common practice.
const DAYS_A_POUND: Decimal = Decimal::TWO;
/// Millimetres in an inch, exact: NIST SP 811 (2008), appendix B.8.
const INCH: Decimal = Decimal::from_parts(254, 0, 0, false, 1);

/// What the days are called by on a page.
pub const PRACTICE: &str = "common practice: 7 days an inch of thickness, or 2 days a pound for heavy pieces";

/// Days of cure for a thickness, unrounded. Above zero; error: nothing. Source: 7 days an inch, common practice.
pub fn days_by_thickness(thickness: Length) -> Result<Decimal, BadFigure> {
    Ok(figure::above_zero(thickness.decimal(), "thickness")? * DAYS_AN_INCH / INCH)
}

/// Days of cure for a weight, unrounded. Above zero; error: nothing. Source: 2 days a pound, common practice.
pub fn days_by_weight(green: Grams) -> Result<Decimal, BadFigure> {
    Ok(figure::base(green, "green weight")? * DAYS_A_POUND / WeightUnit::Pound.grams())
}

/// A number of days as whole days: a part of a day is a day. Less than a hundredth of one (a quarter of an hour) is what a
/// weight in whole pounds leaves when it is kept in grams, and no part.
pub fn whole_days(days: Decimal) -> Decimal {
    let days = days.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero);
    days.round_dp_with_strategy(0, RoundingStrategy::ToPositiveInfinity).normalize()
}

/// What a piece weighs when it has taken up all of its cure and lost nothing. Green weight above zero, cure zero or more.
/// Error: outside that. Source: green + cure, arithmetic; juice that runs off makes it less.
pub fn weigh_back(green: Grams, cure: Grams) -> Result<Grams, BadFigure> {
    Ok(Grams::new(figure::base(green, "green weight")? + figure::weight(cure, "cure")?))
}

/// What it weighs less (or more) than that when it is weighed back. Expected above zero, weighed zero or more.
/// Error: outside that. Source: (expected − weighed) ÷ expected, arithmetic.
pub fn short_of(expected: Grams, weighed: Grams) -> Result<Change, BadFigure> {
    Change::between(expected, weighed, "expected weight")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::measure::Percent;
    use crate::standards::figure::{dec, printed};

    fn millimetres(text: &str) -> Length {
        Length::new(dec(text))
    }

    #[test]
    fn an_inch_takes_a_week_and_a_pound_two_days() {
        // Common practice.
        assert_eq!(days_by_thickness(millimetres("25.4")), Ok(dec("7")));
        assert_eq!(days_by_thickness(millimetres("50.8")).map(whole_days), Ok(dec("14")));
        assert_eq!(printed(days_by_thickness(millimetres("80")).expect("thick"), 2), "22.05");
        let ham = Grams::of(dec("12"), WeightUnit::Pound);
        assert_eq!(days_by_weight(ham).map(whole_days), Ok(dec("24")));
        assert!(days_by_thickness(Length::ZERO).is_err());
        assert!(days_by_weight(Grams::ZERO).is_err());
    }

    #[test]
    fn a_part_of_a_day_is_a_day_and_whole_days_stay() {
        assert_eq!(whole_days(dec("7")), dec("7"));
        assert_eq!(whole_days(dec("7.01")), dec("8"));
        assert_eq!(whole_days(dec("7.001")), dec("7"));
        assert_eq!(whole_days(dec("0")), dec("0"));
    }

    #[test]
    fn a_piece_weighs_its_green_weight_and_its_cure() {
        let expected = weigh_back(Grams::whole(1742), Grams::new(dec("52.26"))).expect("green");
        assert_eq!(expected, Grams::new(dec("1794.26")));
        let purge = short_of(expected, Grams::whole(1742)).expect("expected");
        assert_eq!((purge.words(), purge.grams()), ("loss", Grams::new(dec("52.26"))));
        assert_eq!(purge.percent(), Percent::new(dec("2.9126")));
        assert!(weigh_back(Grams::ZERO, Grams::ZERO).is_err());
        assert!(weigh_back(Grams::whole(1), Grams::whole(-1)).is_err());
    }

    proptest! {
        #[test]
        fn twice_as_thick_takes_twice_as_long(tenths in 1_i64..5_000) {
            let once = days_by_thickness(Length::new(Decimal::new(tenths, 1))).unwrap();
            let twice = days_by_thickness(Length::new(Decimal::new(tenths * 2, 1))).unwrap();
            prop_assert!((twice - once - once).abs() < dec("0.0000001"));
            let whole = whole_days(once);
            prop_assert!(whole >= once - dec("0.005") && whole < once + Decimal::ONE);
        }
    }
}
