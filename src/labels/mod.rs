//! Labels: tags for what lies and hangs in the shop, and labels for packs, as pages that print at their true size. A label
//! never prints for what is on hold or not released; a tag of a hanging piece says that it is not for sale.

pub mod db;
pub mod entry;
pub mod ingredients;
pub mod paper;
pub mod web;
pub mod words;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::LabelSizeWritten>()];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/labels", get(web::print::page))
        .route("/labels/sizes/{id}", get(web::style::sheet))
        .route("/setup/labels", get(web::sizes::page).post(web::sizes::add))
        .route("/setup/labels/{id}", get(web::size::page).post(web::size::change))
}
