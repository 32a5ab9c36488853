//! Yields: what each cut really gave and cost, held side by side by cut, source, supplier, breed and cutter. It writes
//! nothing; every figure comes from closed breakdowns and from the walk of the cost.

pub mod compare;
mod db;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub use crate::costs::{Cost, cost_of};

pub fn routes() -> Router<App> {
    Router::new()
        .route("/yields", get(web::index::page))
        .route("/yields/table.csv", get(web::table::download))
}
