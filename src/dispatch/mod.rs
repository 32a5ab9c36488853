//! Dispatch: lots are packed, leave for a customer or over the counter, or are discarded. What leaves is released where
//! it was cured or mixed, is not on hold, and carries the facts that food of animal origin travels with.

pub mod db;
pub mod entry;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::{Packed, held_behind, packed};
pub use entry::pack::DateWord;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::customer::CustomerWritten>(),
    Kind::of::<entry::pack::LotPacked>(),
    Kind::of::<entry::docket::LotsDispatched>(),
    Kind::of::<entry::discard::LotsDiscarded>(),
];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/dispatch", get(web::index::page))
        .route("/dispatch/export.csv", get(web::export::file))
        .route("/dispatch/new", get(web::new::page).post(web::new::sign_or_draft))
        .route("/dispatch/dockets/{id}", get(web::docket::page))
        .route("/dispatch/pack", get(web::pack::page).post(web::pack::sign_or_draft))
        .route("/dispatch/packs/{entry}", get(web::packs::page))
        .route("/dispatch/discards", get(web::discards::page))
        .route("/dispatch/discard", get(web::discard::page).post(web::discard::sign_or_draft))
        .route("/dispatch/customers", get(web::customers::page).post(web::customers::add))
        .route("/dispatch/customers/{id}", get(web::customer::page).post(web::customer::change))
}
