//! What comes through the door: suppliers, deliveries on one docket, and each line of them, received, received on hold
//! or refused. A line is held against the shop's checks, and what fails stays written on it. Every gram in the shop
//! starts here.

pub mod db;
pub mod entry;
pub mod web;

use axum::Router;
use axum::routing::get;

use crate::book::Kind;
use crate::web::App;

pub use db::{
    GoodsLot, Origin, Strength, Supplier, goods_lots, last_strength, origin, origins, strength, supplier,
    suppliers,
};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::SupplierWritten>(),
    Kind::of::<entry::DeliveryReceived>(),
    Kind::of::<entry::LotReceived>(),
    Kind::of::<entry::LotRefused>(),
    Kind::of::<entry::ChecksWritten>(),
];

pub fn routes() -> Router<App> {
    Router::new()
        .route("/receiving", get(web::index::page))
        .route("/receiving/suppliers", get(web::suppliers::page).post(web::suppliers::add))
        .route("/receiving/suppliers/{id}", get(web::supplier::page).post(web::supplier::change))
        .route("/receiving/deliveries/new", get(web::open::page).post(web::open::open))
        .route("/receiving/deliveries/{id}", get(web::delivery::page).post(web::delivery::take_in))
        .route("/receiving/checks", get(web::checks::page).post(web::checks::set))
}
