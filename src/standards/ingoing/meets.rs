//! How what is weighed out meets the meat, by each method: how much of it is taken up, and what the figure is parts of. Every ppm
//! of a recipe, a batch or a sum of its own is reckoned here. Source: USDA FSIS Directive 7620.3.

use rust_decimal::Decimal;

use crate::measure::{Percent, Ppm};
use crate::standards::figure::{self, BadFigure, MILLION};
use crate::standards::limits::{Base, Way};

/// A ppm, as what stands above its line and below it. The line stands over more than nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fraction {
    pub(super) above: Decimal,
    pub(super) below: Decimal,
}

impl Fraction {
    /// Unrounded, to 28 digits; only to be shown.
    pub fn exact(self) -> Decimal {
        self.above * MILLION / self.below
    }

    /// To be shown and written down.
    pub fn ppm(self) -> Ppm {
        Ppm::new(self.exact())
    }

    /// Exactly at the limit is met.
    pub fn is_at_most(self, limit: Ppm) -> bool {
        self.above * MILLION <= limit.decimal() * self.below
    }

    /// Exactly at the limit is met.
    pub fn is_at_least(self, limit: Ppm) -> bool {
        self.above * MILLION >= limit.decimal() * self.below
    }

    /// How many of what this is the figure of one of come to so many ppm. The figure is more than nothing.
    pub fn to_make(self, ppm: Decimal) -> Decimal {
        ppm * self.below / (self.above * MILLION)
    }

    pub fn is_nothing(self) -> bool {
        self.above.is_zero()
    }
}

/// The method with what it asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Curing {
    pub way: Way,
    /// Per cent of the green weight, where it is pumped.
    pub pump: Percent,
    /// Per cent of the green weight, where it lies in a pickle reckoned by pick-up.
    pub pick_up: Percent,
}

impl Curing {
    pub const fn plain(way: Way) -> Self {
        Self { way, pump: Percent::ZERO, pick_up: Percent::ZERO }
    }

    /// How much of what was weighed out meets the meat, as a factor: all of it, but of a pickle that is pumped or picked up
    /// only so much of the green weight.
    pub fn share_of(self, meat: Decimal, pickle: Decimal) -> Decimal {
        match self.takes_up() {
            Ok(Some(share)) if !pickle.is_zero() => share.fraction() * meat / pickle,
            _ => Decimal::ONE,
        }
    }

    /// What the meat takes up of a pickle, per cent of its green weight; none where that is not how it is reckoned.
    fn takes_up(self) -> Result<Option<Percent>, BadFigure> {
        let pump = || figure::share(self.pump, "pump").map(|_| self.pump);
        let pick_up = || figure::share(self.pick_up, "pick-up").map(|_| self.pick_up);
        Ok(match self.way {
            Way::Comminuted | Way::DryCured | Way::Equilibrium => None,
            Way::Pumped => Some(pump()?),
            Way::PickUp => Some(pick_up()?),
            Way::PumpedAndCovered => Some(pump()? + pick_up()?),
        })
    }
}

/// The weights of a method, and how much of what was weighed out meets the meat. All in one unit: grams, ounces, or the parts of a
/// recipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meets {
    pub(super) way: Way,
    meat: Decimal,
    pickle: Decimal,
    /// Everything else than the meat, whatever it is for.
    rest: Decimal,
    /// Of all that was weighed out, the share that meets the meat, above its line and below it.
    pub(super) taken: (Decimal, Decimal),
}

impl Meets {
    /// `all` is what was weighed out for so much meat, a pickle or not; `laid_on` what was really laid on or pumped in and what was
    /// left over, once that was done.
    ///
    /// # Errors
    /// No meat, no pickle where the method asks for one, a pump or pick-up outside 0 to 100 %.
    pub fn new(
        curing: Curing,
        meat: Decimal,
        all: Decimal,
        laid_on: Option<(Decimal, Decimal)>,
    ) -> Result<Self, BadFigure> {
        let meat = figure::above_zero(meat, "meat")?;
        let part = laid_on.filter(|(on, left)| *on + *left > Decimal::ZERO).map(|(on, left)| (on, on + left));
        let pickle = if curing.way.has_pickle() { figure::above_zero(all, "pickle")? } else { Decimal::ZERO };
        let taken = match (curing.takes_up()?, part) {
            // What was really pumped in tells the pump.
            (Some(_), Some(part)) if curing.way == Way::Pumped => part,
            (Some(share), _) => (share.fraction() * meat, pickle),
            (None, Some(part)) => part,
            (None, None) => (Decimal::ONE, Decimal::ONE),
        };
        Ok(Self { way: curing.way, meat, pickle, rest: all, taken })
    }

    /// The figure of a weight of something, which itself stands over `by`.
    pub fn fraction(&self, weight: Decimal, by: Decimal, base: Base) -> Fraction {
        let (on, of) = self.taken;
        match base {
            // The strength of the pickle itself: none of it has met the meat yet.
            Base::Pickle if self.pickle > Decimal::ZERO => {
                Fraction { above: weight, below: by * self.pickle }
            }
            _ => Fraction { above: weight * on, below: by * of * self.weight_of(base) },
        }
    }

    /// What stands below the line. A whole batch is the meat and what it takes up of all the rest.
    pub(super) fn weight_of(&self, base: Base) -> Decimal {
        match base {
            Base::MeatBlock | Base::GreenWeight | Base::Pickle => self.meat,
            Base::MeatAndPickle => self.meat + self.pickle,
            Base::WholeBatch => self.meat + self.rest * self.taken.0 / self.taken.1,
            Base::ByMethod => self.weight_of(self.way.base()),
        }
    }
}
