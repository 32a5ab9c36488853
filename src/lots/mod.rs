//! The page of any lot: what it is, where it came from and what became of it; for a hanging piece its whole life, from the
//! animal to what still stands between it and sale. A code that is typed or scanned anywhere leads here.

mod curve;
pub mod db;
pub mod entry;
mod way;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::LotCounted>()];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/lots/{id}", get(web::lot::page))
        .route("/lots/{id}/count", get(web::count::page).post(web::count::count))
        .route("/find", get(web::find::page))
        .route("/t/{code}", get(web::find::tag))
}
