//! Readings by hand, and checks: a reading held against the limits in force, which stay with it. A check out of limits
//! opens a deviation (`deviations`), whose pages stand here.

pub mod db;
pub mod entry;
mod place;
pub mod web;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use db::{Due, Reading, due, lots_of_batch, lots_of_place, readings_of, still_here};
pub use entry::{Against, Quantity, Value};
pub use place::{check_place, limits_of_place};
pub use web::limits::{holds_for, key as applies_key, of_key as applies_of};
pub use web::record::take;
pub use web::value;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::LimitWritten>(),
    Kind::of::<entry::ReadingTaken>(),
    Kind::of::<entry::CheckRecorded>(),
];

pub fn routes() -> Router<App> {
    use web::{deviation, deviations, found, hold, holds, index, limit, limits, record, records};
    Router::new()
        .route("/checks", get(index::page))
        .route("/checks/record", get(record::page).post(record::record))
        .route("/checks/records", get(records::page))
        .route("/checks/records/{id}", get(records::one))
        .route("/checks/limits", get(limits::page).post(limits::write))
        .route("/checks/limits/usual", post(limits::take_usual))
        .route("/checks/limits/{id}", get(limit::page).post(limit::write))
        .route("/checks/deviations", get(deviations::page))
        .route("/checks/deviations/new", get(found::page).post(found::write))
        .route("/checks/deviations/{id}", get(deviation::page))
        .route("/checks/deviations/{id}/corrective-action", post(deviation::correct))
        .route("/checks/deviations/{id}/decision", post(deviation::decide))
        .route("/checks/holds", get(holds::page).post(holds::hold))
        .route("/checks/holds/{lot}/{seq}", get(hold::page).post(hold::lift))
}
