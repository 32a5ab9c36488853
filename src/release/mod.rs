//! Release: each product stands in a family, and a family lists what must be recorded before a piece of it is sold. Each
//! criterion is met by lines of the book, not yet, or failed; somebody reviews the batch's records, somebody with the right
//! lets the pieces go, and the entry keeps what it rested on. It says which criteria were met and never that a food is safe:
//! local codes, the regulator and a process authority decide. Where one of those lines is struck later, what was let go by it
//! is held.

mod after;
pub mod db;
pub mod entry;
mod gather;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::ids::BatchId;
use crate::web::App;

pub use after::after;
pub use gather::{Gathered, gather};
pub use web::panel::panel;
pub use web::views::piece_stands;

/// The kinds of entry that this area writes. The release itself is an entry of the batch.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::FamilyWritten>(),
    Kind::of::<entry::ProductPlaced>(),
    Kind::of::<entry::RecordsReviewed>(),
    Kind::of::<entry::EvidenceStruck>(),
];

/// The page on which the pieces of a batch are let go.
pub fn path(batch: BatchId) -> String {
    format!("/release/{batch}")
}

pub fn routes() -> Router<App> {
    use web::{families, family, release, review};
    Router::new()
        .route("/release/families", get(families::page).post(families::copy))
        .route("/release/families/{id}", get(family::page).post(family::write))
        .route("/release/products", get(families::page).post(families::place))
        .route("/release/{batch}", get(release::page).post(release::release))
        .route("/release/{batch}/review", get(review::page).post(review::sign))
}
