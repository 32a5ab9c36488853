//! The packet: what is handed to the inspector. The records of a batch, a lot, a place or a span of days in one file, read
//! from the lines of the book themselves, with every one of those lines beside it so that somebody else can reckon the chain again.
//! Anyone who reads may draw one; making one, with the hash of the file in the book, is signed by somebody with the right.

pub mod db;
mod drawing;
pub mod entry;
mod gather;
mod lines;
mod page;
mod paper;
mod sections;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::seals_hold;
pub use entry::Scope;
pub use page::RECIPE;
pub use web::panel::panel;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::PacketMade>()];

pub fn routes() -> Router<App> {
    use web::{files, index, lines, show};
    Router::new()
        .route("/packet", get(index::page))
        .route("/packet/find", get(index::find))
        .route("/packet/made/{seq}", get(files::made))
        .route("/packet/{scope}", get(show::page).post(show::make))
        .route("/packet/{scope}/packet.pdf", get(files::pdf))
        .route("/packet/{scope}/drawn/{id}", get(files::drawn))
        .route("/packet/{scope}/lines.json", get(lines::lines))
        .route("/packet/{scope}/tables/{table}", get(files::table))
}
