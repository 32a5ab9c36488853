//! Batches: one making of a recipe version each, from the meat and the ingredients weighed into it through its stages to
//! the pieces and their release. What is next is the page's one main action; the cure sheet is the same record on paper.

pub mod db;
mod due;
pub mod entry;
mod found;
pub mod web;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use db::{reviews, standing};
pub use due::{Due, due};
pub use found::cure_found;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::BatchBegun>(),
    Kind::of::<entry::MeatTaken>(),
    Kind::of::<entry::MuscleTaken>(),
    Kind::of::<entry::IngredientWeighed>(),
    Kind::of::<entry::CureApplied>(),
    Kind::of::<entry::MixStuffed>(),
    Kind::of::<entry::BatchStaged>(),
    Kind::of::<entry::PiecesReleased>(),
];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/batches", get(web::index::page))
        .route("/batches/new", get(web::begin::page).post(web::begin::begin))
        .route("/batches/{id}", get(web::batch::page))
        .route("/batches/{id}/meat", post(web::meat::take))
        .route("/batches/{id}/ingredients", post(web::ingredients::weigh))
        .route("/batches/{id}/cure", post(web::cure::lay_on))
        .route("/batches/{id}/pieces", post(web::stuff::stuff))
        .route("/batches/{id}/stages", post(web::stage::enter))
        .route("/batches/{id}/sheet", get(web::sheet::page))
}
