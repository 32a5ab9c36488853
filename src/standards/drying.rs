//! Loss is reckoned against the green weight, never against the weigh-in before: the trade's convention
//! (common practice), and that of the published drying trials.

use rust_decimal::Decimal;

use super::Change;
use super::figure::{self, BadFigure};
use crate::measure::{Grams, Percent};

/// What a piece lost or gained since it was green. Green weight above zero, weight now zero or more.
/// Error: outside that. Source: (green − now) ÷ green × 100, common practice.
pub fn change(green: Grams, now: Grams) -> Result<Change, BadFigure> {
    Change::between(green, now, "green weight")
}

/// What a piece weighs in grams when it has reached its target loss, to 0.01 g. Green weight above zero; loss
/// 0 to 100 %. Error: outside that. Source: green × (1 − loss), arithmetic.
pub fn target_weight(green: Grams, loss: Percent) -> Result<Grams, BadFigure> {
    let green = figure::base(green, "green weight")?;
    Ok(Grams::new(green * (Decimal::ONE - figure::share(loss, "target loss")?)))
}

/// Whether a piece has lost at least a share of its green weight, compared unrounded: exactly at the share it has. A green weight
/// of zero has lost nothing of itself. Source: (green − now) × 100 against share × green, common practice.
pub fn reached(green: Grams, now: Grams, share: Percent) -> bool {
    let (green, now) = (green.decimal(), now.decimal());
    green > Decimal::ZERO && (green - now) * Decimal::ONE_HUNDRED >= share.decimal() * green
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::standards::figure::dec;

    fn grams(text: &str) -> Grams {
        Grams::new(dec(text))
    }

    fn percent(text: &str) -> Percent {
        Percent::new(dec(text))
    }

    #[test]
    fn every_weigh_in_is_held_against_the_green_weight_and_not_against_the_one_before() {
        let lost = |now| change(grams("2000"), grams(now)).expect("green").loss_percent();
        assert_eq!(lost("1800"), percent("10"));
        assert_eq!(lost("1620"), percent("19"));
    }

    #[test]
    fn a_loin_ready_at_forty_per_cent_weighs_six_tenths_of_its_green_weight() {
        // Loin ready near 40 %: common practice.
        let target = target_weight(grams("1850"), percent("40")).expect("a target");
        assert_eq!(target, grams("1110"));
        let reached = change(grams("1850"), target).expect("green");
        assert_eq!((reached.words(), reached.percent()), ("loss", percent("40")));
        assert_eq!(reached.grams(), grams("740"));
    }

    #[test]
    fn a_share_is_reached_exactly_at_it_and_not_a_hundredth_of_a_gram_before() {
        let third = percent("33.3333");
        assert!(!reached(grams("3000"), grams("2000.01"), third));
        assert!(reached(grams("3000"), grams("2000"), third));
        assert!(reached(grams("1000"), grams("650"), percent("35")));
        assert!(!reached(grams("1000"), grams("650.01"), percent("35")));
        assert!(!reached(Grams::ZERO, Grams::ZERO, Percent::ZERO));
    }

    #[test]
    fn a_piece_heavier_than_when_it_was_green_shows_a_gain() {
        let heavier = change(grams("1000"), grams("1012")).expect("green");
        assert!(heavier.is_gain());
        assert_eq!(
            (heavier.words(), heavier.percent(), heavier.grams()),
            ("gain", percent("1.2"), grams("12"))
        );
        assert_eq!((heavier.loss_percent(), heavier.loss()), (percent("-1.2"), grams("-12")));
        let same = change(grams("1000"), grams("1000")).expect("green");
        assert_eq!((same.words(), same.percent(), same.is_gain()), ("unchanged", percent("0"), false));
    }

    #[test]
    fn a_loss_without_a_green_weight_is_refused() {
        assert_eq!(change(grams("0"), grams("10")), Err(BadFigure::NoBase { what: "green weight" }));
        assert_eq!(change(grams("10"), grams("-1")), Err(BadFigure::Negative { what: "weight" }));
        let target = |green, loss| target_weight(grams(green), percent(loss));
        assert_eq!(target("-1", "35"), Err(BadFigure::NoBase { what: "green weight" }));
        assert_eq!(target("10", "-1"), Err(BadFigure::Negative { what: "target loss" }));
        assert_eq!(target("10", "101"), Err(BadFigure::OverHundred { what: "target loss" }));
    }

    proptest! {
        #[test]
        fn a_piece_at_its_target_weight_has_its_target_loss(green in 100_000_i64..10_000_000, loss in 0_i64..=1_000) {
            let green = Grams::new(Decimal::new(green, 2));
            let loss = Percent::new(Decimal::new(loss, 1));
            let reached = change(green, target_weight(green, loss).unwrap()).unwrap().loss_percent();
            // The target is a weight to 0.01 g; on a kilogram or more that is at most 0.0005 % to either side.
            prop_assert!((reached.decimal() - loss.decimal()).abs() <= dec("0.0006"));
        }
    }
}
