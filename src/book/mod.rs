//! The book: one append-only record that everything else follows from. It knows no area by name.
//!
//! An entry is written through the [`Pen`], carries the hash of the entry before it, and moves grams between lots and
//! accounts so that they sum to zero. What the pages show is a projection, and [`replay`] rebuilds it.

pub mod chain;
pub mod db;
pub mod effects;
pub mod entry;
pub mod line;
pub mod lot;
mod pen;
pub mod replay;
pub mod strike;
pub mod verify;

use std::sync::Arc;

use sqlx::PgPool;

use crate::clock::Clock;

pub use effects::{Account, Effects, Form, Movement, NewLot, Role, Side};
pub use entry::{Entry, Fact, Kind, Kinds, Project, Seal, Sealed, Seq, Written};
pub use line::{Line, Say};
pub use lot::Lot;
pub use pen::{Pen, Stamp};

/// The book, open.
#[derive(Clone)]
pub struct Book {
    pub pool: PgPool,
    pub kinds: Arc<Kinds>,
    pub clock: Clock,
}
