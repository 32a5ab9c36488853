//! How far a sack of cure (or of anything that a recipe counts on its meat) goes. Source: arithmetic.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::{Grams, Percent};

/// What a weight of cure is enough for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reach {
    /// Meat that it makes, to 0.01 g.
    pub meat: Grams,
    /// What one batch takes of it, to 0.01 g.
    pub a_batch: Grams,
    /// Whole batches.
    pub batches: Decimal,
    /// Cure that is left after them, to 0.01 g.
    pub rest: Grams,
}

/// How much meat a sack makes at a recipe's share, how many whole batches of a size, and what is left. Sack zero or more; share
/// and size above zero. Error: outside that. Whole batches are counted on the unrounded share.
pub fn reach(sack: Grams, share: Percent, batch: Grams) -> Result<Reach, BadFigure> {
    let sack = figure::weight(sack, "sack")?;
    let share = figure::above_zero(share.fraction(), "share of the meat")?;
    let batch = figure::base(batch, "batch")?;
    let one = share * batch;
    let batches = figure::whole_times(sack, one, share);
    Ok(Reach {
        meat: Grams::new(sack / share),
        a_batch: Grams::new(one),
        batches,
        rest: Grams::new((sack - batches * one).max(Decimal::ZERO)),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::measure::WeightUnit;
    use crate::standards::figure::dec;

    #[test]
    fn a_kilo_of_cure_at_a_quarter_per_cent_makes_four_hundred_of_meat() {
        let reach =
            reach(Grams::whole(1000), Percent::new(dec("0.25")), Grams::whole(15_000)).expect("a sack");
        assert_eq!((reach.meat, reach.a_batch), (Grams::whole(400_000), Grams::new(dec("37.5"))));
        assert_eq!((reach.batches, reach.rest), (dec("26"), Grams::whole(25)));
    }

    #[test]
    fn a_sack_that_is_just_enough_leaves_nothing() {
        let share = Percent::new(dec("0.25"));
        assert_eq!(
            reach(Grams::new(dec("37.5")), share, Grams::whole(15_000)).expect("one").batches,
            dec("1")
        );
        assert_eq!(
            reach(Grams::new(dec("37.49")), share, Grams::whole(15_000)).expect("none").batches,
            dec("0")
        );
        // A pound of cure at 4 oz to 100 lb is four times that.
        let pound = |pounds: i64| Grams::of(Decimal::from(pounds), WeightUnit::Pound);
        let four = reach(pound(1), share, pound(100)).expect("a pound");
        assert_eq!((four.batches, four.rest), (dec("4"), Grams::ZERO));
        assert!(reach(Grams::whole(1), Percent::ZERO, Grams::whole(1)).is_err());
        assert!(reach(Grams::whole(1), share, Grams::ZERO).is_err());
        assert!(reach(Grams::whole(-1), share, Grams::whole(1)).is_err());
    }

    proptest! {
        #[test]
        fn batches_and_rest_are_the_sack(sack in 0_i64..10_000_000, share in 1_i64..100_000, batch in 100_i64..10_000_000) {
            let sack = Grams::new(Decimal::new(sack, 2));
            let share = Percent::new(Decimal::new(share, 4));
            let batch = Grams::new(Decimal::new(batch, 2));
            let found = reach(sack, share, batch).unwrap();
            let used = found.batches * share.fraction() * batch.decimal();
            let hair = dec("0.01") + dec("0.005") * found.batches * share.fraction();
            prop_assert!((used + found.rest.decimal() - sack.decimal()).abs() <= hair);
        }
    }
}
