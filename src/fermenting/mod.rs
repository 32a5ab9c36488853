//! Fermenting: how long a batch has been warm, in degree-hours from stuffing to pH 5.3, held against the rule set that the
//! shop has adopted. The figures are reckoned from the readings whenever they are asked for; a run that is judged is
//! signed with the figures it was judged by, and when it is over the limit that entry opens a deviation and holds the lots.

mod after;
pub mod db;
pub mod entry;
mod found;
mod run;
pub mod web;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::ids::BatchId;
use crate::web::App;

pub use after::after;
pub use found::{Pressing, found, pressing};
pub use web::panel::panel;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] =
    &[Kind::of::<entry::FermentationRuleAdopted>(), Kind::of::<entry::FermentationJudged>()];

/// The page of a batch's run.
pub fn path(batch: BatchId) -> String {
    format!("/fermenting/{batch}")
}

pub fn routes() -> Router<App> {
    Router::new()
        .route("/fermenting", get(web::index::page))
        .route("/fermenting/plan", get(web::plan::page))
        .route("/fermenting/rule", get(web::rule::page).post(web::rule::adopt))
        .route("/fermenting/{batch}", get(web::batch::page))
        .route("/fermenting/{batch}/readings", post(web::take::take))
        .route("/fermenting/{batch}/judgement", post(web::take::judge))
}
