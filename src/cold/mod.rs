//! Cold: how warm it was where a lot lay, from the readings by hand and the samples of loggers, held against the limits in
//! force there; and whether a batch had its time and its cold of cure. Nothing is stored here.

mod db;
mod found;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub use db::{Measured, Stay, measured};
pub use found::cold_found;

/// Hours between two readings of a place for which the shop has set no other: at least one a day. Common practice.
pub const LONGEST_GAP: i16 = 24;

pub fn routes() -> Router<App> {
    Router::new().route("/cold/{lot}", get(web::page))
}
