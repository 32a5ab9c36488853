//! Limits on what goes into cured meat. They are data with a citation, a day on which they begin and a mark: the shop picks
//! whose limits it holds itself to, confirms what was not read in the text, takes up minimums, and writes its own. Which of
//! them hold for a product, and how a figure stands to each, is asked here by recipes and batches.

pub mod db;
pub mod entry;
mod held;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::{InForce, in_force};
pub use held::{Held, Judged, Own, judge};
pub use web::{CureOf, HeldRow, NOT_SAID, held_rows, over, shown};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::LimitsAdopted>(),
    Kind::of::<entry::CuringLimitSwitched>(),
    Kind::of::<entry::CuringLimitWritten>(),
];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/limits", get(web::index::page).post(web::index::adopt))
        .route("/limits/rows/{key}", get(web::row::page).post(web::row::switch))
        .route("/limits/own", get(web::own::blank).post(web::own::first))
        .route("/limits/own/{id}", get(web::own::page).post(web::own::change))
}
