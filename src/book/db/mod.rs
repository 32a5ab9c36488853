//! All SQL of the book's own tables.

mod append;
mod read;
mod verify;

pub(super) use append::{
    append, head, next_code, next_piece, project, remember_sent, sent, strike, take_the_pen,
};
pub use read::{
    Read, StruckBy, about, before, lot, lot_by_code, lots, of_day, of_kind, read_all, read_entry, seq_of,
    since, these,
};
pub(super) use read::{later_than, moved_by};
pub(super) use verify::{compare, movements, one_snapshot, projections, scratch_schema, weigh_everything};
