//! The block: a lot is broken down and every piece is weighed. What has not been weighed out is still on the block; what
//! is left at the close is the cutting loss. A scale that says more than the book is written as found, never hidden.

pub mod db;
pub mod entry;
mod ship;
pub mod web;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use ship::ship;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::CutListWritten>(),
    Kind::of::<entry::BreakdownOpened>(),
    Kind::of::<entry::CutWeighed>(),
    Kind::of::<entry::SourceReweighed>(),
    Kind::of::<entry::BreakdownClosed>(),
];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/block", get(web::index::page).post(web::index::open))
        .route("/block/breakdowns/{id}", get(web::breakdown::page).post(web::breakdown::weigh))
        .route("/block/breakdowns/{id}/source", get(web::source::page).post(web::source::reweigh))
        .route("/block/breakdowns/{id}/closing", post(web::closing::close))
        .route("/block/cut-lists", get(web::cut_lists::page))
        .route("/block/cut-lists/new", get(web::cut_list::fresh).post(web::cut_list::write_new))
        .route("/block/cut-lists/{id}", get(web::cut_list::page).post(web::cut_list::change))
        .route("/block/cut-lists/{id}/retirement", post(web::cut_list::retire))
}
