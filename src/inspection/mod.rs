//! What an inspector sees first: one page from which every record is three clicks away at most. And how long records are kept:
//! nothing of the book is ever deleted; a page says by class which period holds, from where, and how many records are
//! past it.

mod db;
pub mod entry;
mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::RetentionWritten>()];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/inspection", get(web::index::page))
        .route("/inspection/retention", get(web::retention::page).post(web::retention::write))
}
