//! Cold: how warm it was where a lot lay, from the readings by hand and the samples of loggers, held against the limits in
//! force there; and whether a batch had its time and its cold of cure. A cure that was above its limit opens a deviation, and
//! that is all that is written here.

mod after;
mod db;
pub mod entry;
mod found;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::ids::BatchId;
use crate::web::App;

pub use after::after;
pub use db::{Measured, Stay, measured};
pub use found::cold_found;

/// Hours between two readings of a place for which the shop has set no other: at least one a day. Common practice.
pub const LONGEST_GAP: i16 = 24;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::ColdExceeded>()];

/// The page of a batch's cure: what was too warm, and what is decided of it.
pub fn path(batch: BatchId) -> String {
    format!("/cold/batches/{batch}")
}

pub fn routes() -> Router<App> {
    Router::new()
        .route("/cold/{lot}", get(web::lot::page))
        .route("/cold/batches/{batch}", get(web::batch::page).post(web::batch::open))
}
