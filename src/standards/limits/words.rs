//! The words of a limit: where it holds, what it speaks of, what its figure is stated in and of.

use serde::{Deserialize, Serialize};

/// A closed list of words: the same in the seed lists, the book, the forms and on the pages.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$own:meta])* $variant:ident => $word:literal,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$own])* #[serde(rename = $word)] $variant,)*
        }

        impl $name {
            pub const ALL: &[Self] = &[$(Self::$variant),*];

            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),* }
            }
        }

        impl std::str::FromStr for $name {
            type Err = ();
            fn from_str(text: &str) -> Result<Self, ()> {
                Self::ALL.iter().copied().find(|one| one.word() == text).ok_or(())
            }
        }
    };
}

words! {
    /// Whose law a set of limits is.
    Jurisdiction {
        UnitedStates => "United States",
        EuropeanUnion => "European Union",
        GreatBritain => "Great Britain",
        Canada => "Canada",
    }
}

words! {
    /// What is limited.
    Substance {
        Nitrite => "nitrite",
        Nitrate => "nitrate",
        /// The sodium salt of either acid.
        Ascorbate => "ascorbate or erythorbate",
        /// The acid itself.
        AscorbicAcid => "ascorbic or erythorbic acid",
    }
}

words! {
    /// Where it is measured: what goes in is reckoned, the other two are a laboratory's.
    Measured {
        Ingoing => "ingoing",
        Finished => "in the finished product, from all sources",
        Residual => "residual",
    }
}

words! {
    /// How the cure meets the meat.
    Way {
        Comminuted => "comminuted",
        DryCured => "dry cured",
        Pumped => "pumped or massaged",
        /// Pumped, and then laid in the same pickle: both count.
        PumpedAndCovered => "pumped, then in a cover pickle",
        PickUp => "immersion, by pick-up",
        Equilibrium => "immersion, at equilibrium",
    }
}

words! {
    /// What a product falls under, as far as limits tell products apart.
    Product {
        Other => "other cured meat",
        Bacon => "bacon",
        HeatTreated => "heat-treated",
        /// Heated to an Fo over 3.
        Sterilised => "sterilised, Fo over 3",
        /// One of those that the law names as traditional, dry or immersion cured.
        Traditional => "traditional, by its own limits",
    }
}

words! {
    /// What the figure is a part of.
    Base {
        MeatBlock => "meat block",
        GreenWeight => "green weight",
        Pickle => "pickle",
        MeatAndPickle => "meat and pickle",
        WholeBatch => "whole batch, raw",
        /// The meat block, the green weight, or meat and pickle, as the method has it.
        ByMethod => "the meat, as the method has it",
    }
}

words! {
    /// What the figure is stated as.
    StatedAs {
        /// The weight of the salt itself, sodium or potassium.
        Weighed => "the salt as weighed",
        SodiumNitrite => "NaNO2",
        PotassiumNitrite => "KNO2",
        NitriteIon => "NO2",
        SodiumNitrate => "NaNO3",
        PotassiumNitrate => "KNO3",
        NitrateIon => "NO3",
    }
}

words! {
    /// Whether the text that it is from was read.
    Mark {
        Read => "read",
        ToBeConfirmed => "to be confirmed",
    }
}

words! {
    /// Of which metal a salt is.
    Alkali {
        Sodium => "sodium",
        Potassium => "potassium",
    }
}

words! {
    /// What quickens a cure: the salts and the acids each count together.
    Accelerator {
        SodiumAscorbate => "sodium ascorbate",
        SodiumErythorbate => "sodium erythorbate",
        AscorbicAcid => "ascorbic acid",
        ErythorbicAcid => "erythorbic acid",
    }
}

impl Accelerator {
    pub const fn substance(self) -> Substance {
        match self {
            Self::SodiumAscorbate | Self::SodiumErythorbate => Substance::Ascorbate,
            Self::AscorbicAcid | Self::ErythorbicAcid => Substance::AscorbicAcid,
        }
    }
}

impl Base {
    /// Written after a figure: "156 ppm of the meat block".
    pub const fn words(self) -> &'static str {
        match self {
            Self::MeatBlock => "of the meat block",
            Self::GreenWeight => "of the green weight",
            Self::Pickle => "of the pickle",
            Self::MeatAndPickle => "of meat and pickle",
            Self::WholeBatch => "of the whole batch, raw",
            Self::ByMethod => "of the meat",
        }
    }
}

impl Way {
    /// The base of the method itself.
    pub const fn base(self) -> Base {
        match self {
            Self::Comminuted => Base::MeatBlock,
            Self::DryCured | Self::Pumped | Self::PumpedAndCovered | Self::PickUp => Base::GreenWeight,
            Self::Equilibrium => Base::MeatAndPickle,
        }
    }

    /// The method whose limits hold: what is pumped and then covered is held against those of pumping.
    #[must_use]
    pub const fn limited_as(self) -> Self {
        match self {
            Self::PumpedAndCovered => Self::Pumped,
            other => other,
        }
    }

    /// Whether it asks for a pickle.
    pub const fn has_pickle(self) -> bool {
        !matches!(self, Self::Comminuted | Self::DryCured)
    }

    /// The formula in words. "Strength" is the share of the salt in what was weighed.
    pub const fn formula(self) -> &'static str {
        match self {
            Self::Comminuted => "cure × strength × 1,000,000 ÷ meat block",
            Self::DryCured => "cure × strength × 1,000,000 ÷ green weight",
            Self::Pumped => "cure × strength × pump × 1,000,000 ÷ pickle",
            Self::PumpedAndCovered => "cure × strength × (pump + pick-up) × 1,000,000 ÷ pickle",
            Self::PickUp => "cure × strength × pick-up × 1,000,000 ÷ pickle",
            Self::Equilibrium => "cure × strength × 1,000,000 ÷ (green weight + pickle)",
        }
    }
}
