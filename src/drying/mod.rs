//! How far a batch has dried, piece by piece, and when a piece may reach its target: a curve through its weigh-ins, held
//! against how earlier forecasts came out. A forecast is for planning; it is written nowhere and releases nothing. Only
//! measured weight, pH and water activity decide.
//!
//! It stands above the hanging, whose pages warn of pieces that have stopped drying.

pub mod db;
pub mod entry;
pub mod fit;
mod forecast;
mod found;
mod hardening;
mod scale;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::history;
pub use forecast::{Ahead, Forecast, History, Weighed};
pub use found::{loss_found, loss_found_of_batch};
pub use hardening::{Stall, USUAL_LEAST, stalls};
pub use web::panel::panel;
pub use web::said as said_ahead;

/// What stands beside every forecast.
pub const FOR_PLANNING: &str = "For planning; only measured weight, pH and water activity decide.";

/// The address of a batch's drying page.
pub fn path(batch: crate::ids::BatchId) -> String {
    format!("/drying/{batch}")
}

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::DryingTargetWritten>()];

pub fn routes() -> Router<App> {
    Router::new().route("/drying/{id}", get(web::batch::page).post(web::batch::write))
}
