//! Batches: one making of a recipe version each, from the meat and the ingredients weighed into it through its stages to
//! the pieces and their release. What is next is the page's one main action; the cure sheet is the same record on paper.

pub mod db;
pub mod entry;

use crate::book::Kind;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::BatchBegun>(),
    Kind::of::<entry::MeatTaken>(),
    Kind::of::<entry::MuscleTaken>(),
    Kind::of::<entry::IngredientWeighed>(),
    Kind::of::<entry::CureApplied>(),
    Kind::of::<entry::MixStuffed>(),
    Kind::of::<entry::BatchStaged>(),
    Kind::of::<entry::PiecesReleased>(),
];
