//! What a lot costs: money follows the grams. What was paid for a lot travels with every movement of it, into cuts, mixes
//! and pieces; what is lost on the way (cutting, drying, purge) leaves its cost on what remains.
//!
//! Nothing is stored: a cost is walked anew from the movements whenever it is asked for.

mod db;
pub mod entry;
mod walk;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::{cost_of, method};
pub use entry::Method;
pub use walk::{Cost, Unpriced, share_over_cuts};

/// The kind of entry in which one lot is taken apart and its cost is shared by the shop's method: a cut at the block.
pub const TAKES_APART: &str = "cut.weighed";

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::CostMethodWritten>()];

pub fn routes() -> Router<App> {
    Router::new().route("/costs/method", get(web::method::page).post(web::method::write))
}
