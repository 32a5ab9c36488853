//! Plans: what the shop has written down of each product's steps, hazards, critical control points and checks, and the
//! programmes beside them. A version that the owner signed never changes, its limits are held against every reading from then
//! on, and its checks are asked for by place, by batch and by day; one that was missed opens a deviation. The starting plans are
//! points to begin at, to be reassessed by the shop with its regulator, who decides.

pub mod db;
mod due;
pub mod entry;
mod flow;
mod shipped;
pub mod web;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use db::of_batch;
pub use due::{Due, after, check_named, due};
pub use web::panel::panel;
pub use web::pressing::{Pressing, pressing};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::PlanDrafted>(),
    Kind::of::<entry::PlanSigned>(),
    Kind::of::<entry::PlanReassessed>(),
    Kind::of::<entry::CheckAnswered>(),
    Kind::of::<entry::CheckMissed>(),
    Kind::of::<entry::MonitoringObserved>(),
];

pub fn routes() -> Router<App> {
    use web::{answer, check, describe, index, plan, round, step};
    Router::new()
        .route("/plan", get(index::page).post(index::begin))
        .route("/plan/round", get(round::page).post(round::sign))
        .route("/plan/missed", post(round::note))
        .route("/plan/answer", get(answer::page).post(answer::sign))
        .route("/plan/{id}", get(plan::page).post(plan::sign))
        .route("/plan/{id}/versions/{version}", get(plan::version))
        .route("/plan/{id}/reassessment", post(plan::reassess))
        .route("/plan/{id}/observation", post(plan::observe))
        .route("/plan/{id}/description", get(describe::page).post(describe::write))
        .route("/plan/{id}/steps/{n}", get(step::page).post(step::write))
        .route("/plan/{id}/checks/{n}", get(check::page).post(check::write))
}
