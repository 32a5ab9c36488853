//! The trace: from any code, supplier, docket, ear tag or customer backward to the door and forward to whoever got it.
//! It walks the movements of the book, which sum to zero, so what came in is found again to the gram. It writes nothing.

pub mod balance;
pub mod db;
pub mod flow;
pub mod layout;
pub mod parts;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::web::App;

pub use balance::{Balance, Place};
pub use db::{Direction, Lineage, OriginChain, lineage, origin_chain};
pub use flow::{Flow, Sent, Step, TookIn, back, forward};

pub fn routes() -> Router<App> {
    Router::new()
        .route("/trace", get(web::index::page))
        .route("/trace/lots/{id}", get(web::lot::page))
        .route("/trace/customers/{id}", get(web::sent::customer))
        .route("/trace/dispatches/{id}", get(web::sent::dispatch))
        .route("/trace/{sort}/{key}/everything", get(web::source::page))
        .route("/trace/{sort}/{key}/everything.csv", get(web::source::list))
}
