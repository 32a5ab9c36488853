//! Instruments held against something known: melting ice, boiling water, test weights, buffers, saturated salts. One that
//! fails as it was found puts every reading made with it since it last passed in question, and holds the lots that those
//! readings speak of. The page of such a reading and of a batch that it was made for say so. When each instrument is next due follows from the days that the shop gives it.

mod db;
pub mod entry;
mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::{Due, due};
pub use web::part::part;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::CalibrationRecorded>()];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/calibration", get(web::index::page))
        .route("/calibration/{instrument}", get(web::instrument::page).post(web::instrument::record))
}
