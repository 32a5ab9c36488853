//! Meat that is pumped and then held in a cover pickle: both count, each with its own cures.

use rust_decimal::Decimal;

use super::{Cure, Cured, Ingoing, nitrate, nitrite};
use crate::measure::{Percent, Ppm};
use crate::standards::figure::BadFigure;

/// The two figures and their sum, all of the green weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PumpedAndCovered {
    pub pumped: Ingoing,
    pub cover: Ingoing,
}

impl PumpedAndCovered {
    /// Both together, unrounded: the figure that is held against a limit.
    pub fn exact(&self) -> Decimal {
        self.pumped.exact + self.cover.exact
    }

    /// Both together, to be shown.
    pub fn ppm(&self) -> Ppm {
        Ppm::new(self.exact())
    }
}

/// One of the pickles: its cures, the whole weight of it, and the share of the green weight that the meat takes of it.
type Pickle<'a> = (&'a [Cure], Decimal, Percent);

/// Ingoing nitrite, then nitrate, of a pump and a cover pickle reckoned by pick-up. Range and error as for
/// [`super::nitrite`], for each of the two. Source: FSIS Directive 7620.3.
pub fn pumped_and_covered(
    pump: Pickle<'_>,
    cover: Pickle<'_>,
) -> Result<(PumpedAndCovered, PumpedAndCovered), BadFigure> {
    let pumped = Cured::Pumped { pickle: pump.1, pump: pump.2 };
    let covered = Cured::PickUp { pickle: cover.1, pick_up: cover.2 };
    let both = |of: fn(&[Cure], Cured) -> Result<Ingoing, BadFigure>| {
        Ok(PumpedAndCovered { pumped: of(pump.0, pumped)?, cover: of(cover.0, covered)? })
    };
    Ok((both(nitrite)?, both(nitrate)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::standards::curing::Strength;
    use crate::standards::figure::dec;

    fn cure(weight: &str, nitrite: &str, nitrate: &str) -> Cure {
        let percent = |text| Percent::new(dec(text));
        Cure::new(dec(weight), Strength { nitrite: percent(nitrite), nitrate: percent(nitrate) })
            .expect("a cure")
    }

    #[test]
    fn what_is_pumped_and_what_the_cover_gives_are_added() {
        let (pump, cover) = ([cure("16", "6.25", "0")], [cure("32", "6.25", "4")]);
        let ten = Percent::new(dec("10"));
        let two = Percent::new(dec("2"));
        let (nitrite, nitrate) =
            pumped_and_covered((&pump, dec("1000"), ten), (&cover, dec("1000"), two)).expect("two pickles");
        // 16 g × 6.25 % in 1,000 g at 10 %, and 32 g × 6.25 % at 2 %.
        assert_eq!(
            (nitrite.pumped.exact, nitrite.cover.exact, nitrite.exact()),
            (dec("100"), dec("40"), dec("140"))
        );
        assert_eq!((nitrate.pumped.exact, nitrate.exact()), (dec("0"), dec("25.6")));
        assert_eq!(nitrite.ppm(), Ppm::new(dec("140")));
        assert!(pumped_and_covered((&pump, dec("0"), ten), (&cover, dec("1000"), two)).is_err());
    }
}
