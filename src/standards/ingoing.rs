//! What goes into the meat, in sodium and in potassium salts, and the ppm of it on any base. A figure is kept as what
//! stands above the line and what stands below it, so that it is held against a limit without a division.
//!
//! Source of the methods: USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook (1995). One salt as
//! another, or as the ion: arithmetic on the molar masses of [`super::curing`].

mod meets;

use rust_decimal::Decimal;

pub use meets::{Curing, Fraction, Meets};

use super::curing::{NitrateAs, NitriteAs, Strength};
pub use super::figure::MILLION;
use super::figure::{self, BadFigure};
use super::limits::{Accelerator, Alkali, Base, StatedAs, Substance, Way};
use crate::measure::{Percent, Ppm};

/// What a lot or a line of a recipe holds, per cent of its own weight, each in the salt that its pack states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Brings {
    pub nitrite: Percent,
    pub nitrite_salt: Alkali,
    pub nitrate: Percent,
    pub nitrate_salt: Alkali,
    pub accelerator: Option<(Accelerator, Percent)>,
}

impl Brings {
    pub const NOTHING: Self = Self {
        nitrite: Percent::ZERO,
        nitrite_salt: Alkali::Sodium,
        nitrate: Percent::ZERO,
        nitrate_salt: Alkali::Sodium,
        accelerator: None,
    };

    /// A cure whose pack states its strength as sodium salts.
    pub const fn of(strength: Strength) -> Self {
        Self { nitrite: strength.nitrite, nitrate: strength.nitrate, ..Self::NOTHING }
    }

    /// Whether nitrite or nitrate is in it.
    pub fn cures(&self) -> bool {
        self.nitrite > Percent::ZERO || self.nitrate > Percent::ZERO
    }
}

/// Weights of one substance, sodium salt and potassium salt apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Salts {
    pub sodium: Decimal,
    pub potassium: Decimal,
}

impl Salts {
    fn add(&mut self, weight: Decimal, of: Alkali) {
        match of {
            Alkali::Sodium => self.sodium += weight,
            Alkali::Potassium => self.potassium += weight,
        }
    }

    /// Stated as something of molar mass `to`, where the two salts have these: above the line and below it.
    fn stated(self, to: Decimal, sodium: Decimal, potassium: Decimal) -> (Decimal, Decimal) {
        if self.potassium.is_zero() {
            return if to == sodium { (self.sodium, Decimal::ONE) } else { (self.sodium * to, sodium) };
        }
        if self.sodium.is_zero() {
            return if to == potassium {
                (self.potassium, Decimal::ONE)
            } else {
                (self.potassium * to, potassium)
            };
        }
        ((self.sodium * potassium + self.potassium * sodium) * to, sodium * potassium)
    }
}

/// Everything that goes in and that a limit can ask for. All weights in one unit: grams, or the parts of a recipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GoesIn {
    meets: Meets,
    nitrite: Salts,
    nitrate: Salts,
    ascorbate: Decimal,
    acid: Decimal,
}

/// One thing that goes in: its weight, and what it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Put {
    pub weight: Decimal,
    pub brings: Brings,
}

impl GoesIn {
    /// What goes into so much meat: all that is put in, in a pickle or not. `laid_on` is what was really laid on or pumped
    /// in and what was left over, once that was done.
    ///
    /// # Errors
    /// No meat, no pickle where the method asks for one, a pump or pick-up outside 0 to 100 %, holdings above 100 %.
    pub fn new(
        curing: Curing,
        meat: Decimal,
        puts: &[Put],
        laid_on: Option<(Decimal, Decimal)>,
    ) -> Result<Self, BadFigure> {
        let all: Decimal = puts.iter().map(|put| put.weight).sum();
        let mut goes_in = Self {
            meets: Meets::new(curing, meat, all, laid_on)?,
            nitrite: Salts::default(),
            nitrate: Salts::default(),
            ascorbate: Decimal::ZERO,
            acid: Decimal::ZERO,
        };
        for put in puts {
            goes_in.put(put)?;
        }
        Ok(goes_in)
    }

    fn put(&mut self, put: &Put) -> Result<(), BadFigure> {
        let weight = figure::not_negative(put.weight, "weight")?;
        let Brings { nitrite, nitrite_salt, nitrate, nitrate_salt, accelerator } = put.brings;
        let salts =
            figure::share(nitrite, "nitrite in the cure")? + figure::share(nitrate, "nitrate in the cure")?;
        if salts > Decimal::ONE {
            return Err(BadFigure::OverHundred { what: "nitrite and nitrate in the cure together" });
        }
        self.nitrite.add(weight * nitrite.fraction(), nitrite_salt);
        self.nitrate.add(weight * nitrate.fraction(), nitrate_salt);
        if let Some((accelerator, share)) = accelerator {
            let weight = weight * figure::share(share, "ascorbate or erythorbate in it")?;
            match accelerator.substance() {
                Substance::AscorbicAcid => self.acid += weight,
                _ => self.ascorbate += weight,
            }
        }
        Ok(())
    }

    pub const fn way(&self) -> Way {
        self.meets.way
    }

    /// The figure of a substance on a base, stated as a salt, as the ion or as it was weighed.
    pub fn figure(&self, substance: Substance, stated: StatedAs, base: Base) -> Fraction {
        let (weight, by) = match substance {
            Substance::Nitrite => self.nitrite_as(stated),
            Substance::Nitrate => self.nitrate_as(stated),
            Substance::Ascorbate => (self.ascorbate, Decimal::ONE),
            Substance::AscorbicAcid => (self.acid, Decimal::ONE),
        };
        self.meets.fraction(weight, by, base)
    }

    fn nitrite_as(&self, stated: StatedAs) -> (Decimal, Decimal) {
        let (sodium, potassium) = (NitriteAs::Sodium.molar_mass(), NitriteAs::Potassium.molar_mass());
        match stated {
            StatedAs::NitriteIon => self.nitrite.stated(NitriteAs::Ion.molar_mass(), sodium, potassium),
            StatedAs::PotassiumNitrite => self.nitrite.stated(potassium, sodium, potassium),
            StatedAs::SodiumNitrite => self.nitrite.stated(sodium, sodium, potassium),
            _ => (self.nitrite.sodium + self.nitrite.potassium, Decimal::ONE),
        }
    }

    fn nitrate_as(&self, stated: StatedAs) -> (Decimal, Decimal) {
        let (sodium, potassium) = (NitrateAs::Sodium.molar_mass(), NitrateAs::Potassium.molar_mass());
        match stated {
            StatedAs::NitrateIon => self.nitrate.stated(NitrateAs::Ion.molar_mass(), sodium, potassium),
            StatedAs::PotassiumNitrate => self.nitrate.stated(potassium, sodium, potassium),
            StatedAs::SodiumNitrate => self.nitrate.stated(sodium, sodium, potassium),
            _ => (self.nitrate.sodium + self.nitrate.potassium, Decimal::ONE),
        }
    }

    /// How much of a thing that holds `brings` has to come out for a figure to be at a limit; below nothing where so much
    /// may still go in. None where it has no part in the figure.
    pub fn too_much_of(
        &self,
        brings: Brings,
        substance: Substance,
        stated: StatedAs,
        base: Base,
        most: Ppm,
    ) -> Option<Decimal> {
        let none = Salts::default();
        let (ascorbate, acid) = (Decimal::ZERO, Decimal::ZERO);
        let mut one = Self { nitrite: none, nitrate: none, ascorbate, acid, ..*self };
        one.put(&Put { weight: Decimal::ONE, brings }).ok()?;
        let per = one.figure(substance, stated, base);
        if per.is_nothing() {
            return None;
        }
        let now = self.figure(substance, stated, base);
        // Both stand over bases of the same weight, each over its own conversion.
        let (now_above, per_above) = (now.above * per.below, per.above * now.below);
        let common = now.below * per.below;
        // What counts in its own base takes some of the base away with it.
        let Meets { way, taken, .. } = self.meets;
        let of_base = match (base, way) {
            (Base::WholeBatch, _) => common * taken.0 / (taken.1 * self.meets.weight_of(base)),
            (Base::MeatAndPickle, _) | (Base::ByMethod, Way::Equilibrium) => {
                common / self.meets.weight_of(base)
            }
            _ => Decimal::ZERO,
        };
        let limit = most.decimal();
        Some((now_above * MILLION - limit * common) / (per_above * MILLION - limit * of_base))
    }

    /// How much more meat brings a figure down to a limit; none where meat does not change it.
    pub fn more_meat(
        &self,
        substance: Substance,
        stated: StatedAs,
        base: Base,
        most: Ppm,
    ) -> Option<Decimal> {
        let by_share = matches!(self.meets.way, Way::Pumped | Way::PumpedAndCovered | Way::PickUp);
        if by_share || base == Base::Pickle || most.decimal().is_zero() {
            return None;
        }
        let now = self.figure(substance, stated, base);
        let weight = self.meets.weight_of(base);
        Some((now.exact() / most.decimal() - Decimal::ONE) * weight)
    }
}

#[cfg(test)]
mod tests;
