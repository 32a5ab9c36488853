//! Lines of the book as pages of their own: the whole book day by day, one line with all that was signed, and striking.

pub mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub fn routes() -> Router<App> {
    Router::new()
        .route("/entries", get(web::index::page))
        .route("/entries/{seq}", get(web::entry::page))
        .route("/entries/{seq}/strike", get(web::strike::page).post(web::strike::strike))
}
