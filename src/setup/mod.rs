//! What the shop has: the things in its list, its places and its instruments. Other areas name them by id and keep the
//! name as it was when a line was signed.

pub mod db;
pub mod entry;

use crate::book::Kind;

pub use db::{Instrument, Item, Place, instrument, instruments, item, items, place, places};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::ItemWritten>(),
    Kind::of::<entry::PlaceWritten>(),
    Kind::of::<entry::InstrumentWritten>(),
];
