//! What hangs and where: lots moved from place to place, pieces weighed in as they dry, and how far along each is. A loss
//! is held against the green weight, never against the weigh-in before. What dries away goes to its account, what a scale
//! says there is more of needs a reason.

pub mod db;
pub mod dew_point;
pub mod entry;
mod hung;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::{Weighing, hanging, hook, hung, lies, weigh_ins};
pub use entry::is_weighed_in;
pub use hung::{Hung, Loss};
pub use web::weigh::{difference, path as weigh_path};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::LotsMoved>(), Kind::of::<entry::PieceWeighed>()];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/hanging", get(web::index::page))
        .route("/hanging/places/{id}", get(web::place::page))
        .route("/hanging/weigh", get(web::weigh::page).post(web::weigh::weigh))
        .route("/hanging/move", get(web::shift::page).post(web::shift::shift))
}
