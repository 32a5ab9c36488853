//! What comes through the door: suppliers, deliveries on one docket, and each line of them, received, received on hold
//! or refused. Every gram in the shop starts here.

pub mod db;
pub mod entry;

use crate::book::Kind;

pub use db::{Origin, origin};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::SupplierWritten>(),
    Kind::of::<entry::DeliveryReceived>(),
    Kind::of::<entry::LotReceived>(),
];
