//! The words of a recipe: what kind it is, what a line is for, what it is a per cent of, the stages after the making.

use serde::{Deserialize, Serialize};

use crate::standards::formula::Of;
use crate::standards::limits::Way;

/// A closed list of words: the same in the book, the database, the forms and on the pages.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$own:meta])* $variant:ident => $word:literal,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
        #[sqlx(type_name = "text")]
        pub enum $name {
            $($(#[$own])* #[serde(rename = $word)] #[sqlx(rename = $word)] $variant,)*
        }

        impl $name {
            pub const ALL: &[Self] = &[$(Self::$variant),*];

            pub fn word(self) -> &'static str {
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
pub(crate) use words;

words! {
    /// How the meat is made.
    RecipeKind {
        /// Just as much salt as the meat is to hold in the end.
        DryCureEquilibrium => "dry cure, equilibrium",
        /// More salt than the meat takes up; the rest is brushed or washed off.
        DryCureExcessSalt => "dry cure, excess salt",
        GroundFermented => "ground and fermented",
        GroundFresh => "ground, fresh",
        Brine => "brine",
    }
}

words! {
    /// What a line of a recipe is for.
    Role {
        Meat => "meat",
        Fat => "fat",
        Salt => "salt",
        /// A salt with nitrite or nitrate of stated strength.
        Cure => "cure",
        /// Ascorbate, erythorbate or their acids.
        Accelerator => "accelerator",
        Sugar => "sugar",
        Spice => "spice",
        Culture => "culture",
        Casing => "casing",
        Water => "water",
    }
}

words! {
    /// What a line is a per cent of.
    Per {
        Meat => "meat",
        Whole => "whole",
        Brine => "brine",
    }
}

words! {
    /// Where a batch stands.
    Stage {
        Making => "making",
        Curing => "curing",
        Resting => "resting",
        Fermenting => "fermenting",
        Drying => "drying",
        Holding => "holding",
        Released => "released",
    }
}

impl RecipeKind {
    /// Whole muscles, each of which stays one piece; otherwise a mix that is stuffed.
    pub fn is_whole_muscle(self) -> bool {
        !matches!(self, Self::GroundFermented | Self::GroundFresh)
    }

    /// By which published method its nitrite is reckoned where the recipe does not say: a brine at equilibrium.
    pub fn way(self) -> Way {
        match self {
            Self::DryCureEquilibrium | Self::DryCureExcessSalt => Way::DryCured,
            Self::GroundFermented | Self::GroundFresh => Way::Comminuted,
            Self::Brine => Way::Equilibrium,
        }
    }
}

impl Role {
    /// Whether it is part of the meat block.
    pub fn is_meat(self) -> bool {
        matches!(self, Self::Meat | Self::Fat)
    }

    /// How far a weight may be from its target, in hundredths of a per cent of the target. Common practice: what
    /// matters more to safety is weighed closer.
    pub fn usual_tolerance(self) -> i64 {
        match self {
            Self::Cure => 100,
            Self::Salt | Self::Accelerator | Self::Sugar | Self::Water => 200,
            Self::Culture | Self::Meat | Self::Fat => 500,
            Self::Spice | Self::Casing => 1000,
        }
    }
}

impl Per {
    pub fn of(self) -> Of {
        match self {
            Self::Meat => Of::MeatBlock,
            Self::Whole => Of::Whole,
            Self::Brine => Of::Brine,
        }
    }

    /// Written after a figure: "2.75 % of the meat".
    pub fn words(self) -> &'static str {
        match self {
            Self::Meat => "of the meat",
            Self::Whole => "of the whole",
            Self::Brine => "of the brine",
        }
    }
}

impl Stage {
    /// The stages that a recipe can plan.
    pub const PLANNED: [Self; 5] =
        [Self::Curing, Self::Resting, Self::Fermenting, Self::Drying, Self::Holding];

    /// Whether something has to hang or lie there as pieces.
    pub fn is_of_pieces(self) -> bool {
        matches!(self, Self::Fermenting | Self::Drying | Self::Holding)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_reads_back() {
        assert!(RecipeKind::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
        assert!(Role::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
        assert!(Per::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
        assert!(Stage::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
    }

    #[test]
    fn a_word_stands_in_the_book_as_it_is_said() {
        let body = serde_json::to_string(&RecipeKind::DryCureExcessSalt).expect("a word");
        assert_eq!(body, "\"dry cure, excess salt\"");
    }
}
