//! What is done against parasites in pork: each product has a control, either its supplier's certified programme or a
//! published treatment, and a batch's page says of each thing that the treatment asks for what the book holds. The published
//! treatments address *Trichinella* only.

pub mod db;
pub mod entry;
mod found;
mod judge;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use found::found;
pub use web::batch::panel;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::ControlChosen>(),
    Kind::of::<entry::MethodConfirmed>(),
    Kind::of::<entry::FreezingRecorded>(),
];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/parasites", get(web::index::page))
        .route("/parasites/products/{id}", get(web::product::page).post(web::product::choose))
        .route("/parasites/methods", get(web::methods::page).post(web::methods::confirm))
        .route("/parasites/freezings", get(web::freezings::page).post(web::freezings::record))
        .route("/parasites/{batch}", get(web::batch::page))
}
