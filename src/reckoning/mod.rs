//! Sums of the trade on pages of their own: what is typed is reckoned and shown with its base, formula and source. Nothing is
//! signed and nothing is kept: each page is an address that can be sent on. The formulas stand in `standards`. A batch's page gets
//! a panel from here: whether its days of cure are shorter than practice, and the weight that is expected after it.

mod db;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub use web::panel::panel;

pub fn routes() -> Router<App> {
    Router::new()
        .route("/reckoning", get(web::index::page))
        .route("/reckoning/ppm", get(web::ppm::page))
        .route("/reckoning/brine", get(web::brine::page))
        .route("/reckoning/belly", get(web::belly::page))
        .route("/reckoning/blend", get(web::blend::page))
        .route("/reckoning/days", get(web::days::page))
        .route("/reckoning/sack", get(web::sack::page))
        .route("/reckoning/links", get(web::links::page))
        .route("/reckoning/water", get(web::water::page))
}
