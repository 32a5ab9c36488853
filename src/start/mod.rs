//! The first start: an empty book shows one page, which makes the shop and its owner and, if they want them, the usual
//! lists to begin with. It stands below the areas whose lists it writes.

mod lists;
mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub use lists::{ShippedItem, ShippedPlace, ship, shipped_items, shipped_places};

/// The page that needs no sign-in, since nobody can sign in yet.
pub fn open_routes() -> Router<App> {
    Router::new().route("/start", get(web::page).post(web::found))
}
