//! The block: a lot is broken down and every piece is weighed. What has not been weighed out is still on the block; what
//! is left at the close is the cutting loss.

pub mod db;
pub mod entry;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::CutListWritten>(),
    Kind::of::<entry::BreakdownOpened>(),
    Kind::of::<entry::CutWeighed>(),
];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/block", get(web::index::page).post(web::index::open))
        .route("/block/breakdowns/{id}", get(web::breakdown::page).post(web::breakdown::weigh))
}
