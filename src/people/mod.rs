//! The people who sign: the first start that makes the shop and its owner, signing in and out, roles.
//!
//! A password is never in the book: the book says who signed, `credential` holds how they prove it.

pub mod db;
pub mod entry;
pub mod password;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::ShopFounded>(), Kind::of::<entry::PersonAdded>()];

/// Pages that need no sign-in.
pub fn open_routes() -> Router<App> {
    Router::new()
        .route("/start", get(web::start::page).post(web::start::found))
        .route("/sign-in", get(web::sign_in::page).post(web::sign_in::sign_in))
}

/// Pages behind the sign-in.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/me", get(web::me::page))
        .route("/me/sign-out", axum::routing::post(web::me::sign_out))
}
