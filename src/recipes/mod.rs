//! Formulas by proportion: lines in per cent of the meat, of the whole or of the brine, and the steps that follow the
//! making. A change is the next version; a version that was used never changes. Scaling and ingoing ppm are worked out
//! here, from the recipe and from the strength of the lots at hand, and held against the limits in force.

pub mod db;
pub mod entry;
mod ingoing;
mod proportions;
pub mod web;
mod words;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use db::{Listed, OnHand, Recipe, listed, on_hand, recipe};
pub use entry::{Quickens, RecipeLine, RecipeStep};
pub use ingoing::{
    ASSUMED_MOISTURE, HANDBOOK, IngoingBoth, goes_in, in_the_water, of_meat, put, salt_in, sugar_in,
};
pub use proportions::Proportions;
pub use web::{NITRITE, how, lasts, no_limits, of_both, said};
pub(crate) use words::words;
pub use words::{Per, RecipeKind, Role, Stage};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::RecipeWritten>(), Kind::of::<entry::RecipeRetired>()];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/recipes", get(web::index::page))
        .route("/recipes/new", get(web::write::blank).post(web::write::first))
        .route("/recipes/reckon", post(web::reckon::fragment))
        .route("/recipes/{id}", get(web::show::page))
        .route("/recipes/{id}/versions", get(web::write::from_last).post(web::write::next))
        .route("/recipes/{id}/scale", get(web::scale::page))
        .route("/recipes/{id}/retirement", post(web::show::retire))
}
