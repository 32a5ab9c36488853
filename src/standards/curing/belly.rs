//! A belly cured with its rind on. The rind, about a tenth of it, is left out of the base (FSIS Directive 7620.3).

use rust_decimal::Decimal;

use crate::measure::{Grams, Percent};
use crate::standards::figure::{self, BadFigure};

/// What the rind of a skin-on belly is taken to be where nobody weighed it: FSIS Directive 7620.3.
pub const RIND: Percent = Percent::TEN;

/// How much of a belly is rind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rind {
    /// A share of the belly with its rind.
    Share(Percent),
    /// As weighed.
    Weighed(Grams),
}

impl Rind {
    /// The green weight that the ppm are counted on: the belly less its rind, grams, unrounded. Belly above zero; the rind
    /// less than all of it. Error: outside that. Source: FSIS Directive 7620.3.
    pub fn left_out_of(self, belly: Grams) -> Result<Decimal, BadFigure> {
        let whole = figure::base(belly, "belly")?;
        let rind = match self {
            Self::Share(percent) => whole * figure::share(percent, "rind")?,
            Self::Weighed(grams) => figure::weight(grams, "rind")?,
        };
        if rind > whole {
            return Err(BadFigure::PartOverWhole { part: "rind", whole: "belly" });
        }
        figure::above_zero(whole - rind, "belly without its rind")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::standards::curing::{Cure, Cured, Strength, nitrite};
    use crate::standards::figure::dec;

    #[test]
    fn the_rind_is_left_out_as_a_tenth_or_as_weighed() {
        let belly = Grams::whole(5000);
        assert_eq!(Rind::Share(RIND).left_out_of(belly), Ok(dec("4500")));
        assert_eq!(Rind::Weighed(Grams::whole(430)).left_out_of(belly), Ok(dec("4570")));
        assert!(Rind::Weighed(Grams::whole(5000)).left_out_of(belly).is_err());
        assert!(Rind::Weighed(Grams::whole(5001)).left_out_of(belly).is_err());
        assert!(Rind::Share(Percent::HUNDRED).left_out_of(belly).is_err());
        assert!(Rind::Share(RIND).left_out_of(Grams::ZERO).is_err());
    }

    #[test]
    fn a_belly_with_its_rind_on_has_more_ppm_than_its_weight_says() {
        let strength = Strength { nitrite: Percent::new(dec("6.25")), nitrate: Percent::ZERO };
        let cures = [Cure::new(dec("14.4"), strength).expect("a cure")];
        let of = |green| nitrite(&cures, Cured::Dry { green }).expect("a base").exact;
        assert_eq!(of(dec("5000")), dec("180"));
        assert_eq!(of(Rind::Share(RIND).left_out_of(Grams::whole(5000)).expect("meat")), dec("200"));
    }
}
