//! The people who sign: signing in and out, switching on a shared tablet, roles; and what the shop says of itself.
//!
//! A password is never in the book: the book says who signed, `credential` holds how they prove it.

pub mod console;
pub mod db;
pub mod entry;
pub mod password;
pub mod pin;
pub mod throttle;
pub mod web;

use axum::Router;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use db::{Listed, keep_password, people};
pub use web::{ShopFields, initials, line, sign_in_name};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::ShopFounded>(),
    Kind::of::<entry::ShopChanged>(),
    Kind::of::<entry::PersonAdded>(),
    Kind::of::<entry::PersonChanged>(),
    Kind::of::<entry::PersonRetired>(),
    Kind::of::<entry::PersonReturned>(),
    Kind::of::<entry::PersonReset>(),
];

/// Gives everyone who signs here the same password and ends all their sign-ins. For the demo, whose people are invented.
pub async fn give_everyone_this_password(app: &App, password: &str) -> crate::error::Result<()> {
    let hash = password::hash(app.site.hashing, password.to_owned()).await?;
    db::give_everyone(&mut *app.db().await?, &hash).await
}

/// Pages that need no sign-in.
pub fn open_routes() -> Router<App> {
    Router::new()
        .route("/sign-in", get(web::sign_in::page).post(web::sign_in::sign_in))
        .route("/switch", get(web::switch::page))
        .route("/switch/{person}", get(web::switch::ask_pin).post(web::switch::switch))
}

/// Pages behind the sign-in.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/me", get(web::me::page))
        .route("/me/pin", post(web::me::set_pin))
        .route("/me/password", post(web::me::set_password))
        .route("/me/theme", post(web::me::set_theme))
        .route("/me/sign-out", post(web::me::sign_out))
        .route("/me/sign-out-everywhere", post(web::me::sign_out_everywhere))
        .route("/setup/people", get(web::people::page).post(web::people::add))
        .route("/setup/people/{id}", get(web::person::page).post(web::person::change))
        .route("/setup/people/{id}/password", post(web::person::reset))
        .route("/setup/people/{id}/pin", post(web::person::give_pin))
        .route("/setup/people/{id}/retirement", post(web::person::retire))
        .route("/setup/people/{id}/return", post(web::person::bring_back))
        .route("/setup/shop", get(web::shop::page).post(web::shop::change))
}
