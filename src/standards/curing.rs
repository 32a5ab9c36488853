//! Ingoing nitrite and nitrate: milligrams of the salt put in for each kilogram of the stated base.
//!
//! Source of the five methods: USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook
//! (1995). Two methods may give one brine figures that differ more than twofold, so a figure never travels
//! without its base and its formula. No rounding rule is published: figures here are exact, to be compared
//! exact with an exact limit and shown in whole ppm.
//!
//! Every formula is a ratio. Its weights are plain decimals in any one unit: grams from the scale, ounces of a
//! regulation, or the parts of a recipe that nothing has been weighed for yet.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::{Percent, Ppm};

const MILLION: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);
const HANDBOOK: &str = "USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook, 1995";
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
    strength: Strength,
}

impl Cure {
    /// Weight, nothing or more; nitrite and nitrate 0 to 100 % together.
    /// Error: a negative weight or strength, or strengths above 100 %.
    pub fn new(weight: Decimal, strength: Strength) -> Result<Self, BadFigure> {
        figure::not_negative(weight, "cure")?;
        let salts = figure::share(strength.nitrite, "nitrite in the cure")?
            + figure::share(strength.nitrate, "nitrate in the cure")?;
        if salts > Decimal::ONE {
            return Err(BadFigure::OverHundred { what: "nitrite and nitrate in the cure together" });
        }
        Ok(Self { weight, strength })
    }
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
}

impl Method {
    /// The method's name on a page.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Comminuted => "comminuted",
            Self::DryCured => "dry cured",
            Self::Pumped => "pumped or massaged",
            Self::ImmersionPickUp => "immersion, by pick-up",
            Self::ImmersionEquilibrium => "immersion, at equilibrium",
        }
    }

    /// What the method's ppm are parts of.
    pub const fn basis(self) -> Basis {
        match self {
            Self::Comminuted => Basis::MeatBlock,
            // Salt in the pickle over the pickle, times pickle in the meat over the green meat: the pickle
            // cancels out, and the green weight is what is left below the line.
            Self::DryCured | Self::Pumped | Self::ImmersionPickUp => Basis::GreenWeight,
            Self::ImmersionEquilibrium => Basis::MeatAndPickle,
        }
    }

    /// The formula in words. "Strength" is the share of nitrite, or of nitrate, in the cure.
    pub const fn formula(self) -> &'static str {
        match self {
            Self::Comminuted => "cure × strength × 1,000,000 ÷ meat block",
            Self::DryCured => "cure × strength × 1,000,000 ÷ green weight",
            Self::Pumped => "cure × strength × pump × 1,000,000 ÷ pickle",
            Self::ImmersionPickUp => "cure × strength × pick-up × 1,000,000 ÷ pickle",
            Self::ImmersionEquilibrium => "cure × strength × 1,000,000 ÷ (green weight + pickle)",
        }
    }
}

/// What a ppm is a part of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    MeatBlock,
    GreenWeight,
    Pickle,
    MeatAndPickle,
}

impl Basis {
    /// Written after the figure: "156 ppm of the meat block".
    pub const fn words(self) -> &'static str {
        match self {
            Self::MeatBlock => "of the meat block",
            Self::GreenWeight => "of the green weight",
            Self::Pickle => "of the pickle",
            Self::MeatAndPickle => "of meat and pickle",
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
}

impl Cured {
    pub const fn method(self) -> Method {
        match self {
            Self::Comminuted { .. } => Method::Comminuted,
            Self::Dry { .. } => Method::DryCured,
            Self::Pumped { .. } => Method::Pumped,
            Self::PickUp { .. } => Method::ImmersionPickUp,
            Self::Equilibrium { .. } => Method::ImmersionEquilibrium,
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
    pub basis: Basis,
    pub formula: &'static str,
    pub source: &'static str,
}

/// Ingoing nitrite of all the cures together, mg per kg of the method's base, unrounded, in the salt that the
/// packs state their strength in (sodium nitrite, as a rule).
/// Error: a base of zero or less, a pump or pick-up outside 0 to 100 %, cures that outweigh the pickle they are in.
/// Source: FSIS Directive 7620.3.
pub fn nitrite(cures: &[Cure], way: Cured) -> Result<Ingoing, BadFigure> {
    ingoing(cures, |strength| strength.nitrite, way)
}

/// Ingoing nitrate of all the cures together. Unit, range, error and source as for [`nitrite`].
pub fn nitrate(cures: &[Cure], way: Cured) -> Result<Ingoing, BadFigure> {
    ingoing(cures, |strength| strength.nitrate, way)
}

/// Nitrite in a pickle before it meets any meat, mg per kg of the whole pickle, unrounded. No ingoing figure
/// and no limit is set on it: it tells one pickle from another.
/// Error: a pickle of zero or less, cures that outweigh it. Source: arithmetic.
pub fn nitrite_in_pickle(cures: &[Cure], pickle: Decimal) -> Result<Ingoing, BadFigure> {
    in_pickle(cures, |strength| strength.nitrite, pickle)
}

/// Nitrate in a pickle before it meets any meat. Unit, range, error and source as for [`nitrite_in_pickle`].
pub fn nitrate_in_pickle(cures: &[Cure], pickle: Decimal) -> Result<Ingoing, BadFigure> {
    in_pickle(cures, |strength| strength.nitrate, pickle)
}

fn ingoing(cures: &[Cure], salt: impl Fn(Strength) -> Percent, way: Cured) -> Result<Ingoing, BadFigure> {
    let salt = salt_in(cures, salt);
    let (taken_up, base) = match way {
        Cured::Comminuted { meat_block } => (salt, figure::above_zero(meat_block, "meat block")?),
        Cured::Dry { green } => (salt, figure::above_zero(green, "green meat")?),
        Cured::Pumped { pickle, pump } => (salt * figure::share(pump, "pump")?, whole_pickle(cures, pickle)?),
        Cured::PickUp { pickle, pick_up } => {
            (salt * figure::share(pick_up, "pick-up")?, whole_pickle(cures, pickle)?)
        }
        Cured::Equilibrium { green, pickle } => {
            (salt, figure::above_zero(green, "green meat")? + whole_pickle(cures, pickle)?)
        }
    };
    let method = way.method();
    let exact = taken_up * MILLION / base;
    Ok(Ingoing {
        exact,
        ppm: Ppm::new(exact),
        basis: method.basis(),
        formula: method.formula(),
        source: HANDBOOK,
    })
}

fn in_pickle(
    cures: &[Cure],
    salt: impl Fn(Strength) -> Percent,
    pickle: Decimal,
) -> Result<Ingoing, BadFigure> {
    let exact = salt_in(cures, salt) * MILLION / whole_pickle(cures, pickle)?;
    let formula = "cure × strength × 1,000,000 ÷ pickle";
    Ok(Ingoing { exact, ppm: Ppm::new(exact), basis: Basis::Pickle, formula, source: ARITHMETIC })
}

fn salt_in(cures: &[Cure], salt: impl Fn(Strength) -> Percent) -> Decimal {
    cures.iter().map(|cure| cure.weight * salt(cure.strength).fraction()).sum()
}

/// A pickle lighter than its own cure was weighed without its dry ingredients.
fn whole_pickle(cures: &[Cure], pickle: Decimal) -> Result<Decimal, BadFigure> {
    let whole = figure::above_zero(pickle, "pickle")?;
    let cure: Decimal = cures.iter().map(|cure| cure.weight).sum();
    if cure > whole {
        return Err(BadFigure::PartOverWhole { part: "cure", whole: "pickle" });
    }
    Ok(whole)
}

/// What a weight of nitrite is stated as: the United States says the sodium salt, the European Union the ion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NitriteAs {
    /// `NaNO2`
    Sodium,
    /// `KNO2`
    Potassium,
    /// `NO2`
    Ion,
}

impl NitriteAs {
    /// Molar mass, g/mol, from standard atomic weights.
    pub const fn molar_mass(self) -> Decimal {
        match self {
            Self::Sodium => Decimal::from_parts(68_995, 0, 0, false, 3),
            Self::Potassium => Decimal::from_parts(85_104, 0, 0, false, 3),
            Self::Ion => Decimal::from_parts(46_005, 0, 0, false, 3),
        }
    }
}

/// What a weight of nitrate is stated as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NitrateAs {
    /// `NaNO3`
    Sodium,
    /// `KNO3`
    Potassium,
    /// `NO3`
    Ion,
}

impl NitrateAs {
    /// Molar mass, g/mol, from standard atomic weights.
    pub const fn molar_mass(self) -> Decimal {
        match self {
            Self::Sodium => Decimal::from_parts(84_995, 0, 0, false, 3),
            Self::Potassium => Decimal::from_parts(101_103, 0, 0, false, 3),
            Self::Ion => Decimal::from_parts(62_005, 0, 0, false, 3),
        }
    }
}

/// The same nitrite stated as another salt or as the ion, in ppm. Any figure; no error.
/// Source: arithmetic on molar masses.
pub fn nitrite_as(ppm: Ppm, from: NitriteAs, to: NitriteAs) -> Ppm {
    Ppm::new(ppm.decimal() * to.molar_mass() / from.molar_mass())
}

/// The same nitrate stated as another salt or as the ion, in ppm. Any figure; no error.
/// Source: arithmetic on molar masses.
pub fn nitrate_as(ppm: Ppm, from: NitrateAs, to: NitrateAs) -> Ppm {
    Ppm::new(ppm.decimal() * to.molar_mass() / from.molar_mass())
}

#[cfg(test)]
mod tests;
