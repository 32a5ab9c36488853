//! Ingoing nitrite and nitrate: milligrams of the salt put in for each kilogram of the stated base.
//!
//! Source of the five methods: USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook
//! (1995). Two methods may give one brine figures that differ more than twofold, so a figure never travels
//! without its base and its formula. No rounding rule is published: figures here are exact, to be compared
//! exact with an exact limit and shown in whole ppm. What is taken up, and what it is parts of, is [`Meets`]: the same for a sum
//! here as for a recipe and a batch.
//!
//! Every formula is a ratio. Its weights are plain decimals in any one unit: grams from the scale, ounces of a
//! regulation, or the parts of a recipe that nothing has been weighed for yet.

mod accelerator;
mod belly;
mod covered;
mod dose;
mod salts;

pub use accelerator::{Accelerator, accelerator, accelerator_as};
pub use belly::{RIND, Rind};
pub use covered::{PumpedAndCovered, pumped_and_covered};
pub use dose::{cure_for, less, meat_for};
pub use salts::{NitrateAs, NitriteAs, nitrate_as, nitrite_as};

use rust_decimal::Decimal;

use super::figure::{self, BadFigure, MILLION};
use super::ingoing::{Curing, Meets};
use super::limits::{Base, Way};
use crate::measure::{Percent, Ppm};

const HANDBOOK: &str = "USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook, 1995";
const WHOLE_BATCH: &str = "CFIA manual of procedures, chapter 4: nitrite on the whole raw batch; arithmetic as in FSIS Directive 7620.3";
const ARITHMETIC: &str = "arithmetic: weight of the salt in the pickle over weight of the pickle";

/// What an ingredient lot's pack states, in per cent of the cure's own weight. Cures of the same name are sold in
/// several strengths, so it belongs to the lot in hand and to nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Strength {
    pub nitrite: Percent,
    pub nitrate: Percent,
}

/// One cure as it goes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cure {
    weight: Decimal,
    /// Fractions of the cure's weight, unrounded, in the salts that the figures are wanted in.
    nitrite: Decimal,
    nitrate: Decimal,
}

impl Cure {
    /// Weight, nothing or more; nitrite and nitrate 0 to 100 % together.
    /// Error: a negative weight or strength, or strengths above 100 %.
    pub fn new(weight: Decimal, strength: Strength) -> Result<Self, BadFigure> {
        figure::not_negative(weight, "cure")?;
        let nitrite = figure::share(strength.nitrite, "nitrite in the cure")?;
        let nitrate = figure::share(strength.nitrate, "nitrate in the cure")?;
        Self { weight, nitrite, nitrate }.whole()
    }

    /// A cure whose pack states another salt, or the ion: reckoned in sodium nitrite and sodium nitrate, by molar mass and
    /// unrounded. Range and error as for [`Cure::new`], of what is stated and of what it comes to.
    pub fn stated(weight: Decimal, pack: Stated) -> Result<Self, BadFigure> {
        Self::new(weight, pack.strength)?;
        let Strength { nitrite, nitrate } = pack.strength;
        let nitrite = nitrite.fraction() * NitriteAs::Sodium.molar_mass() / pack.nitrite_as.molar_mass();
        let nitrate = nitrate.fraction() * NitrateAs::Sodium.molar_mass() / pack.nitrate_as.molar_mass();
        Self { weight, nitrite, nitrate }.whole()
    }

    fn whole(self) -> Result<Self, BadFigure> {
        if self.nitrite + self.nitrate > Decimal::ONE {
            return Err(BadFigure::OverHundred { what: "nitrite and nitrate in the cure together" });
        }
        Ok(self)
    }

    /// Nitrite as a fraction of the cure, unrounded: as sodium nitrite where it was made by [`Cure::stated`].
    pub const fn nitrite(self) -> Decimal {
        self.nitrite
    }

    /// Nitrate as a fraction of the cure, unrounded.
    pub const fn nitrate(self) -> Decimal {
        self.nitrate
    }
}

/// What a pack states, and the salts that it states it in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stated {
    pub strength: Strength,
    pub nitrite_as: NitriteAs,
    pub nitrate_as: NitrateAs,
}

/// How the cure meets the meat: the methods of the handbook, without their weights.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// Mixed into minced or chopped meat.
    Comminuted,
    /// Rubbed on, dry.
    DryCured,
    /// Pumped or massaged in with a pickle.
    Pumped,
    /// Laid in a pickle and reckoned by what the meat picks up: the handbook's method one.
    ImmersionPickUp,
    /// Laid in a pickle until meat and pickle are level: the handbook's method two.
    ImmersionEquilibrium,
    /// Counted on everything that goes in, as some countries do.
    WholeBatch,
}

impl Method {
    /// As limits and recipes know it; none where it is counted on everything that goes in.
    const fn way(self) -> Option<Way> {
        match self {
            Self::Comminuted => Some(Way::Comminuted),
            Self::DryCured => Some(Way::DryCured),
            Self::Pumped => Some(Way::Pumped),
            Self::ImmersionPickUp => Some(Way::PickUp),
            Self::ImmersionEquilibrium => Some(Way::Equilibrium),
            Self::WholeBatch => None,
        }
    }

    /// The method's name on a page.
    pub const fn words(self) -> &'static str {
        match self.way() {
            Some(way) => way.word(),
            None => "on the whole batch",
        }
    }

    /// What the method's ppm are parts of. Salt in the pickle over the pickle, times pickle in the meat over the green meat: the
    /// pickle cancels out, and the green weight is what is left below the line.
    pub const fn basis(self) -> Base {
        match self.way() {
            Some(way) => way.base(),
            None => Base::WholeBatch,
        }
    }

    /// The formula in words. "Strength" is the share of nitrite, or of nitrate, in the cure.
    pub const fn formula(self) -> &'static str {
        match self.way() {
            Some(way) => way.formula(),
            None => "cure × strength × 1,000,000 ÷ whole raw batch",
        }
    }
}

/// A method with the weights that it asks for. All weights above zero, in the unit of the cures.
///
/// A piece that is pumped and then held in a cover pickle is reckoned by both, each with its own cures; both count,
/// and both are of the green weight when the cover is reckoned by pick-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cured {
    /// The meat block is meat and fat alone: no water, spice or binder is counted in it.
    Comminuted { meat_block: Decimal },
    /// The green weight of the piece. The rind of a skin-on belly, about a tenth, is left out of it.
    Dry { green: Decimal },
    /// The pickle is all of it, its dry ingredients included; the pump is 0 to 100 % of the green weight.
    Pumped { pickle: Decimal, pump: Percent },
    /// The pickle is all of it, its dry ingredients included; the pick-up is 0 to 100 % of the green
    /// weight.
    PickUp { pickle: Decimal, pick_up: Percent },
    /// Meat and all of the pickle, its dry ingredients included.
    Equilibrium { green: Decimal, pickle: Decimal },
    /// Everything that goes in, raw: meat, water, salt, spice and the cure itself. It is the base in Canada (CFIA manual of
    /// procedures, chapter 4), where the United States count on the meat block.
    WholeBatch { batch: Decimal },
}

impl Cured {
    pub const fn method(self) -> Method {
        match self {
            Self::Comminuted { .. } => Method::Comminuted,
            Self::Dry { .. } => Method::DryCured,
            Self::Pumped { .. } => Method::Pumped,
            Self::PickUp { .. } => Method::ImmersionPickUp,
            Self::Equilibrium { .. } => Method::ImmersionEquilibrium,
            Self::WholeBatch { .. } => Method::WholeBatch,
        }
    }
}

/// A ppm with what it needs beside it on a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ingoing {
    /// Unrounded, to be held against a limit.
    pub exact: Decimal,
    /// To be written down and shown.
    pub ppm: Ppm,
    pub basis: Base,
    pub formula: &'static str,
    pub source: &'static str,
}

/// Ingoing nitrite of all the cures together, mg per kg of the method's base, unrounded, in the salt that the
/// packs state their strength in (sodium nitrite, as a rule).
/// Error: a base of zero or less, a pump or pick-up outside 0 to 100 %, cures that outweigh the pickle they are in.
/// Source: FSIS Directive 7620.3.
pub fn nitrite(cures: &[Cure], way: Cured) -> Result<Ingoing, BadFigure> {
    ingoing(salt_in(cures, Cure::nitrite), weight_of(cures), way)
}

/// Ingoing nitrate of all the cures together. Unit, range, error and source as for [`nitrite`].
pub fn nitrate(cures: &[Cure], way: Cured) -> Result<Ingoing, BadFigure> {
    ingoing(salt_in(cures, Cure::nitrate), weight_of(cures), way)
}

/// Nitrite in a pickle before it meets any meat, mg per kg of the whole pickle, unrounded. No ingoing figure
/// and no limit is set on it: it tells one pickle from another.
/// Error: a pickle of zero or less, cures that outweigh it. Source: arithmetic.
pub fn nitrite_in_pickle(cures: &[Cure], pickle: Decimal) -> Result<Ingoing, BadFigure> {
    in_pickle(cures, Cure::nitrite, pickle)
}

/// Nitrate in a pickle before it meets any meat. Unit, range, error and source as for [`nitrite_in_pickle`].
pub fn nitrate_in_pickle(cures: &[Cure], pickle: Decimal) -> Result<Ingoing, BadFigure> {
    in_pickle(cures, Cure::nitrate, pickle)
}

/// So much of a salt, brought by `cures` of a weight, by the method of `way`.
fn ingoing(salt: Decimal, cures: Decimal, way: Cured) -> Result<Ingoing, BadFigure> {
    let method = way.method();
    let exact = meets(cures, way)?.fraction(salt, Decimal::ONE, method.basis()).exact();
    Ok(Ingoing {
        exact,
        ppm: Ppm::new(exact),
        basis: method.basis(),
        formula: method.formula(),
        source: if method == Method::WholeBatch { WHOLE_BATCH } else { HANDBOOK },
    })
}

/// How cures of a weight meet the meat by the method of `way`. Of a pickle that is taken up by the green weight, the meat cancels
/// out: it stands for one.
fn meets(cures: Decimal, way: Cured) -> Result<Meets, BadFigure> {
    let plain = Curing::plain;
    let taken_up = |curing, pickle| Meets::new(curing, Decimal::ONE, whole(cures, pickle, "pickle")?, None);
    match way {
        Cured::Comminuted { meat_block } => {
            Meets::new(plain(Way::Comminuted), figure::above_zero(meat_block, "meat block")?, cures, None)
        }
        Cured::Dry { green } => {
            Meets::new(plain(Way::DryCured), figure::above_zero(green, "green meat")?, cures, None)
        }
        Cured::Pumped { pickle, pump } => {
            figure::share(pump, "pump")?;
            taken_up(Curing { pump, ..plain(Way::Pumped) }, pickle)
        }
        Cured::PickUp { pickle, pick_up } => {
            figure::share(pick_up, "pick-up")?;
            taken_up(Curing { pick_up, ..plain(Way::PickUp) }, pickle)
        }
        Cured::Equilibrium { green, pickle } => {
            let green = figure::above_zero(green, "green meat")?;
            Meets::new(plain(Way::Equilibrium), green, whole(cures, pickle, "pickle")?, None)
        }
        // The cure is in the batch already.
        Cured::WholeBatch { batch } => {
            Meets::new(plain(Way::Comminuted), whole(cures, batch, "whole batch")?, Decimal::ZERO, None)
        }
    }
}

fn in_pickle(cures: &[Cure], salt: impl Fn(Cure) -> Decimal, pickle: Decimal) -> Result<Ingoing, BadFigure> {
    let exact = salt_in(cures, salt) * MILLION / whole(weight_of(cures), pickle, "pickle")?;
    let formula = "cure × strength × 1,000,000 ÷ pickle";
    Ok(Ingoing { exact, ppm: Ppm::new(exact), basis: Base::Pickle, formula, source: ARITHMETIC })
}

fn salt_in(cures: &[Cure], salt: impl Fn(Cure) -> Decimal) -> Decimal {
    cures.iter().map(|cure| cure.weight * salt(*cure)).sum()
}

fn weight_of(cures: &[Cure]) -> Decimal {
    cures.iter().map(|cure| cure.weight).sum()
}

/// A pickle (or a batch) lighter than its own cure was weighed without its dry ingredients.
fn whole(cures: Decimal, weight: Decimal, what: &'static str) -> Result<Decimal, BadFigure> {
    let whole = figure::above_zero(weight, what)?;
    if cures > whole {
        return Err(BadFigure::PartOverWhole { part: "cure", whole: what });
    }
    Ok(whole)
}

#[cfg(test)]
mod tests;
