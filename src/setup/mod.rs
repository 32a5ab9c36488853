//! What the shop has: the things in its list, its places and its instruments. Other areas name them by id and keep the
//! name as it was when a line was signed.

pub mod db;
pub mod entry;
mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::{Instrument, Item, Place, any_instrument, instrument, instruments, item, items, place, places};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::ItemWritten>(),
    Kind::of::<entry::PlaceWritten>(),
    Kind::of::<entry::InstrumentWritten>(),
];

/// Pages behind the sign-in.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/setup", get(web::index::page))
        .route("/setup/items", get(web::items::page).post(web::item::add))
        .route("/setup/items/new", get(web::item::fresh))
        .route("/setup/items/{id}", get(web::item::page).post(web::item::change))
        .route("/setup/places", get(web::places::page).post(web::place::add))
        .route("/setup/places/new", get(web::place::fresh))
        .route("/setup/places/{id}", get(web::place::page).post(web::place::change))
        .route("/setup/instruments", get(web::instruments::page).post(web::instrument::add))
        .route("/setup/instruments/new", get(web::instrument::fresh))
        .route("/setup/instruments/{id}", get(web::instrument::page).post(web::instrument::change))
}
