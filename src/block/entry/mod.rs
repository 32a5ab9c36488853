//! What the book says of breaking down, and the rules at the block.

mod breakdown;
mod cut;
mod cut_list;

use serde::{Deserialize, Serialize};

use crate::book::Lot;
use crate::error::Refusal;
use crate::ids::BreakdownId;
use crate::measure::{Grams, Percent};

pub use breakdown::{BreakdownClosed, BreakdownOpened, SourceReweighed, close, open, reweigh};
pub use cut::{CutLot, CutWeighed, FAT_CLASSES, fat_class, weigh};
pub use cut_list::{CutListWritten, ExpectedCut, LINES, MOST_CUTS, SOURCES, write_cut_list};

/// Where a cut goes from the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum GoesTo {
    #[serde(rename = "whole-muscle cure")]
    WholeMuscleCure,
    #[serde(rename = "mince")]
    Mince,
    #[serde(rename = "render")]
    Render,
    #[serde(rename = "stock")]
    Stock,
    #[serde(rename = "fresh counter")]
    FreshCounter,
    #[serde(rename = "freezer")]
    Freezer,
    #[serde(rename = "break down further")]
    BreakDownFurther,
    #[serde(rename = "waste")]
    Waste,
}

impl GoesTo {
    pub const ALL: [Self; 8] = [
        Self::WholeMuscleCure,
        Self::Mince,
        Self::Render,
        Self::Stock,
        Self::FreshCounter,
        Self::Freezer,
        Self::BreakDownFurther,
        Self::Waste,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::WholeMuscleCure => "whole-muscle cure",
            Self::Mince => "mince",
            Self::Render => "render",
            Self::Stock => "stock",
            Self::FreshCounter => "fresh counter",
            Self::Freezer => "freezer",
            Self::BreakDownFurther => "break down further",
            Self::Waste => "waste",
        }
    }
}

impl std::str::FromStr for GoesTo {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|goes| goes.word() == text).ok_or(())
    }
}

/// What lies on the block: the source of a breakdown, and how far it has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnTheBlock {
    pub breakdown: BreakdownId,
    pub taken_in: Grams,
    /// What was found by weighing the source again; negative where it was missing.
    pub found: Grams,
    /// How many cuts were weighed off it.
    pub cuts: u32,
    /// The loss that needs no reason, per cent of what was taken in.
    pub tolerance: Percent,
    pub closed: bool,
    pub source: Lot,
}

impl OnTheBlock {
    /// Nothing is done at the block to a breakdown that is closed.
    fn open(&self, way_out: &str) -> Result<(), Refusal> {
        if self.closed {
            return Err(Refusal::of(format!("This breakdown is closed. {way_out}")));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Form, Say, Seq};
    use crate::ids::{ItemId, LotId, Named, PlaceId};
    use crate::measure::UnitSystem;
    use uuid::Uuid;

    pub const SAY: Say = Say { system: UnitSystem::Metric };

    pub fn carcass(grams: i64) -> Lot {
        Lot {
            id: LotId(Uuid::from_u128(1)),
            code: "26329-02".parse().expect("a code"),
            form: Form::Carcass,
            item: ItemId(Uuid::from_u128(2)),
            item_name: "pig carcass".into(),
            place: None,
            grams: Grams::whole(grams),
            seq: Seq(1),
            held: None,
            struck: false,
        }
    }

    /// 92.4 kg were laid on the block; so much still lies there.
    pub fn block(grams: i64) -> OnTheBlock {
        OnTheBlock {
            breakdown: BreakdownId(Uuid::from_u128(3)),
            taken_in: Grams::whole(92_400),
            found: Grams::ZERO,
            cuts: 1,
            tolerance: CutListWritten::usual_tolerance(),
            closed: false,
            source: carcass(grams),
        }
    }

    pub fn collar(grams: i64) -> CutWeighed {
        CutWeighed {
            breakdown: BreakdownId(Uuid::from_u128(3)),
            source: LotId(Uuid::from_u128(1)),
            lot: Some(CutLot {
                id: LotId(Uuid::from_u128(4)),
                code: "26329-02.05".parse().expect("a code"),
                form: Form::Cut,
                place: Named::new(PlaceId(Uuid::from_u128(5)), "cooler 1"),
            }),
            item: Named::new(ItemId(Uuid::from_u128(6)), "collar"),
            weight: Grams::whole(grams),
            pieces: 2,
            goes_to: GoesTo::WholeMuscleCure,
            fat: None,
        }
    }

    #[test]
    fn every_use_reads_back_from_its_word() {
        assert!(GoesTo::ALL.iter().all(|goes| goes.word().parse() == Ok(*goes)));
    }
}
