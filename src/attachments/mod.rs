//! Papers attached to what they speak of: letters of guarantee, certificates, laboratory results, photographs. The entry carries
//! what a paper is and the SHA-256 of its bytes; the bytes lie beside the book, in a table that refuses every change, and
//! verify recomputes their hash. A struck paper is shown as struck, and its bytes stay.

mod db;
pub mod entry;
mod web;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::seals_hold;
pub use web::part::part;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::PaperAttached>()];

/// The most that one paper may weigh, in bytes: a scanned letter has less than a tenth of it.
pub const HEAVIEST: usize = 10 * 1024 * 1024;

/// What the form around the paper may weigh, in bytes.
const AROUND: usize = 64 * 1024;

pub fn routes() -> Router<App> {
    Router::new()
        .route(
            "/attachments",
            get(web::index::page).post(web::attach::attach).layer(DefaultBodyLimit::max(HEAVIEST + AROUND)),
        )
        .route("/attachments/{id}", get(web::paper::page))
        .route("/attachments/{id}/file", get(web::paper::file))
}
