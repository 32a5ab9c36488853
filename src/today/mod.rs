//! The first page: what is late, what is due and what is done today, by place. It asks every area what waits there and writes
//! nothing.

pub mod db;
mod tasks;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub fn routes() -> Router<App> {
    Router::new().route("/", get(web::page))
}
