//! Links and portions: what one weighs, how many a mince makes. Source: arithmetic; what fills a casing is common practice.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::Grams;

/// How many whole ones, and what is left over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Links {
    pub count: Decimal,
    pub rest: Grams,
}

/// What a link weighs when a mince is stuffed into so many of a size, to 0.01 g. Mince zero or more, at least one link.
/// Error: outside that.
pub fn each(mince: Grams, count: u32) -> Result<Grams, BadFigure> {
    let count = figure::above_zero(Decimal::from(count), "number of links")?;
    Ok(Grams::new(figure::weight(mince, "mince")? / count))
}

/// How many whole links of a weight a mince makes. Mince zero or more, a link above zero. Error: outside that.
pub fn of(mince: Grams, link: Grams) -> Result<Links, BadFigure> {
    let link = figure::base(link, "link")?;
    let mince = figure::weight(mince, "mince")?;
    let count = figure::whole_times(mince, link, Decimal::ONE);
    Ok(Links { count, rest: Grams::new((mince - count * link).max(Decimal::ZERO)) })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::measure::{Percent, WeightUnit};
    use crate::standards::figure::dec;
    use crate::standards::yields::{Basis, yielded};

    fn pounds(text: &str) -> Grams {
        Grams::of(dec(text), WeightUnit::Pound)
    }

    #[test]
    fn two_and_a_half_pounds_fill_eight_to_twelve_links() {
        // Common practice, hog casing of bratwurst size: 5 oz each at eight, 3 1/3 oz each at twelve.
        assert_eq!(each(pounds("2.5"), 8), Ok(Grams::of(dec("5"), WeightUnit::Ounce)));
        assert_eq!(each(pounds("2.5"), 12), Ok(Grams::new(dec("94.50"))));
        assert_eq!(each(pounds("2.5"), 0), Err(BadFigure::NoBase { what: "number of links" }));
    }

    #[test]
    fn a_six_pound_shoulder_gives_five_and_a_half_boneless() {
        // Common practice: 11 parts of 12.
        let boneless = yielded(pounds("5.5"), pounds("6"), Basis::SourceLot).expect("a shoulder");
        assert_eq!(boneless.percent.text_places(2), "91.67 %");
    }

    #[test]
    fn what_makes_no_whole_link_is_left_over() {
        let made = of(Grams::whole(1000), Grams::whole(120)).expect("links");
        assert_eq!(made, Links { count: dec("8"), rest: Grams::whole(40) });
        assert_eq!(of(Grams::whole(119), Grams::whole(120)).expect("none").count, dec("0"));
        assert_eq!(of(Grams::whole(120), Grams::whole(120)).expect("one").rest, Grams::ZERO);
        assert!(of(Grams::whole(1), Grams::ZERO).is_err());
        // 2.5 lb are eight times 5 oz, whatever 0.01 g makes of either.
        let eight = of(pounds("2.5"), Grams::of(dec("5"), WeightUnit::Ounce)).expect("links");
        assert_eq!(eight, Links { count: dec("8"), rest: Grams::ZERO });
        assert_eq!(Percent::of(Grams::whole(960), Grams::whole(1000)), Percent::new(dec("96")));
    }

    proptest! {
        #[test]
        fn links_and_rest_are_the_mince(mince in 0_i64..10_000_000, link in 1_i64..100_000) {
            let (mince, link) = (Grams::new(Decimal::new(mince, 2)), Grams::new(Decimal::new(link, 2)));
            let made = of(mince, link).unwrap();
            // A hair of rounding for each link, as in the weights that were typed.
            let off = (link.times(made.count) + made.rest - mince).decimal();
            prop_assert!(off >= Decimal::ZERO && off <= dec("0.005") * (made.count + Decimal::ONE));
            prop_assert!(made.rest < link && !made.rest.is_negative());
        }
    }
}
