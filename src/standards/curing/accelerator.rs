//! Ascorbate and erythorbate: what brings a cure's colour on. They are reckoned by the methods of nitrite. Ascorbic and
//! erythorbic acid have one formula, and so one molar mass; so have their sodium salts.

use rust_decimal::Decimal;

use super::{Cured, Ingoing, ingoing};
use crate::measure::{Percent, Ppm};
use crate::standards::figure::{self, BadFigure};
pub use crate::standards::limits::Accelerator;

impl Accelerator {
    /// Molar mass, g/mol, from standard atomic weights: `C6H7NaO6` and `C6H8O6`.
    pub const fn molar_mass(self) -> Decimal {
        match self {
            Self::SodiumAscorbate | Self::SodiumErythorbate => Decimal::from_parts(198_106, 0, 0, false, 3),
            Self::AscorbicAcid | Self::ErythorbicAcid => Decimal::from_parts(176_124, 0, 0, false, 3),
        }
    }
}

/// Ingoing accelerator of all packs together, mg per kg of the method's base, unrounded, in the form that is weighed. Each pack
/// with its weight and the share of it that is accelerator. Range and error as for [`super::nitrite`].
/// Source: the methods of FSIS Directive 7620.3.
pub fn accelerator(packs: &[(Decimal, Percent)], way: Cured) -> Result<Ingoing, BadFigure> {
    let (mut salt, mut weight) = (Decimal::ZERO, Decimal::ZERO);
    for (pack, share) in packs {
        weight += figure::not_negative(*pack, "accelerator")?;
        salt += *pack * figure::share(*share, "share in the pack")?;
    }
    ingoing(salt, weight, way)
}

/// The same accelerator stated as another form, in ppm. Any figure; no error. Source: arithmetic on molar masses.
pub fn accelerator_as(ppm: Ppm, from: Accelerator, to: Accelerator) -> Ppm {
    Ppm::new(ppm.decimal() * to.molar_mass() / from.molar_mass())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::WeightUnit;
    use crate::standards::figure::{dec, printed};

    #[test]
    fn ounces_to_a_hundred_pounds_come_out_at_the_stated_ppm() {
        // 9 CFR 424.21(c), from memory, to be confirmed: 7/8 oz of the sodium salts and 3/4 oz of the acids to 100 lb.
        let block = Cured::Comminuted { meat_block: dec("100") * WeightUnit::Pound.grams() };
        let ppm = |ounces: &str| {
            let packs = [(dec(ounces) * WeightUnit::Ounce.grams(), Percent::HUNDRED)];
            printed(accelerator(&packs, block).expect("a base").exact, 3)
        };
        assert_eq!(ppm("0.875"), "546.875");
        assert_eq!(ppm("0.75"), "468.750");
    }

    #[test]
    fn a_salt_is_restated_as_its_acid_by_molar_mass() {
        let acid =
            accelerator_as(Ppm::new(dec("550")), Accelerator::SodiumErythorbate, Accelerator::ErythorbicAcid);
        assert_eq!(printed(acid.decimal(), 1), "489.0");
        let same = accelerator_as(
            Ppm::new(dec("550")),
            Accelerator::SodiumAscorbate,
            Accelerator::SodiumErythorbate,
        );
        assert_eq!(same, Ppm::new(dec("550")));
    }

    #[test]
    fn a_mix_counts_at_its_share_and_a_pickle_at_its_pump() {
        let packs = [(dec("50"), Percent::new(dec("11"))), (dec("1"), Percent::HUNDRED)];
        let way = Cured::Pumped { pickle: dec("1000"), pump: Percent::new(dec("10")) };
        assert_eq!(accelerator(&packs, way).expect("a pickle").exact, dec("650"));
        let light = Cured::Pumped { pickle: dec("50"), pump: Percent::new(dec("10")) };
        assert!(accelerator(&packs, light).is_err());
        assert!(accelerator(&[(dec("-1"), Percent::HUNDRED)], way).is_err());
    }
}
