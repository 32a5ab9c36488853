//! One salt's weight as another's, by molar mass.

use rust_decimal::Decimal;

use crate::measure::Ppm;

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
    pub const ALL: [Self; 3] = [Self::Sodium, Self::Potassium, Self::Ion];

    /// What it is called on a pack.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Sodium => "sodium nitrite",
            Self::Potassium => "potassium nitrite",
            Self::Ion => "nitrite ion",
        }
    }

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
    pub const ALL: [Self; 3] = [Self::Sodium, Self::Potassium, Self::Ion];

    /// What it is called on a pack.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Sodium => "sodium nitrate",
            Self::Potassium => "potassium nitrate",
            Self::Ion => "nitrate ion",
        }
    }

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
