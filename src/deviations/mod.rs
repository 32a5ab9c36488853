//! Deviations: what was found out of limits holds the lots concerned until the four parts of a corrective action are written
//! and somebody with the right has decided on each lot. Any entry can open one ([`entry::Opened`]); lots are held and let
//! go by hand here as well. The pages stand among those of the checks.

pub mod db;
pub mod entry;

use crate::book::Kind;
use crate::web::Touched;

pub use db::{
    Action, ByHand, Closing, Concerned, HeldLot, Listed, OpenDeviation, all_open_deviations, closings,
    concerned, deviation, hold, holds, listed, open, open_deviations, standing, unopen,
};
pub use entry::{FoundOn, On, Opened, Subject};

impl From<On> for Touched {
    fn from(on: On) -> Self {
        match on {
            On::Place(place) => Self::Place(place),
            On::Lot(lot) => Self::Lot(lot),
            On::Batch(batch) => Self::Batch(batch),
        }
    }
}

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::DeviationFound>(),
    Kind::of::<entry::DeviationCorrected>(),
    Kind::of::<entry::DeviationClosed>(),
    Kind::of::<entry::LotHeld>(),
    Kind::of::<entry::HoldLifted>(),
];
