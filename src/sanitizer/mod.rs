//! Sanitizer: what a bottle of bleach makes in water, how much of it a strength takes, and which published limits that or a
//! strip's reading meets. A calculator; nothing is stored. A reading is recorded among the checks.

mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub fn routes() -> Router<App> {
    Router::new().route("/sanitizer", get(web::page))
}
