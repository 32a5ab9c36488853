//! Readings by hand, and checks: a reading held against the limits in force, which stay with it. A check out of limits
//! opens a deviation, which holds the lots concerned until the four parts of a corrective action are written and somebody
//! with the right has decided on each lot. Lots are held and let go by hand here as well.

pub mod db;
pub mod entry;
mod place;
pub mod web;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use db::{
    Due, HeldLot, OpenDeviation, Reading, all_open_deviations, due, holds, open_deviations, readings_of,
};
pub use entry::{Against, On, Quantity, Subject, Value};
pub use place::{check_place, limits_of_place};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::LimitWritten>(),
    Kind::of::<entry::ReadingTaken>(),
    Kind::of::<entry::CheckRecorded>(),
    Kind::of::<entry::DeviationCorrected>(),
    Kind::of::<entry::DeviationClosed>(),
    Kind::of::<entry::LotHeld>(),
    Kind::of::<entry::HoldLifted>(),
];

pub fn routes() -> Router<App> {
    use web::{deviation, deviations, hold, holds, index, limit, limits, record, records};
    Router::new()
        .route("/checks", get(index::page))
        .route("/checks/record", get(record::page).post(record::record))
        .route("/checks/records", get(records::page))
        .route("/checks/records/{id}", get(records::one))
        .route("/checks/limits", get(limits::page).post(limits::write))
        .route("/checks/limits/usual", post(limits::take_usual))
        .route("/checks/limits/{id}", get(limit::page).post(limit::write))
        .route("/checks/deviations", get(deviations::page))
        .route("/checks/deviations/{id}", get(deviation::page))
        .route("/checks/deviations/{id}/corrective-action", post(deviation::correct))
        .route("/checks/deviations/{id}/decision", post(deviation::decide))
        .route("/checks/holds", get(holds::page).post(holds::hold))
        .route("/checks/holds/{lot}/{seq}", get(hold::page).post(hold::lift))
}
