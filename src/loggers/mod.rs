//! What data loggers measured: files read and looked through before they are signed, devices that send by themselves, and
//! the readings of a place over time. Samples are no entries one by one; an import is sealed by one entry.
//!
//! The seal is the SHA-256 of the import's canonical text: a line for each sample, `temperature 2026-11-25T07:20:00Z 12.4`,
//! that is the quantity, the time in UTC to the second (RFC 3339) and the value in °C or %RH as a plain decimal without
//! zeros at its end, separated by one space and ended by one line feed; sorted by quantity, then by time. The page of an
//! import hands the text out, so that anybody can recompute it.

pub mod columns;
pub mod db;
pub mod entry;
pub mod moment;
pub mod sheet;
mod take;
pub mod understood;
pub mod web;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

use crate::book::Kind;
use crate::web::App;

pub use db::{Bucket, Excursion, excursions, measured_in, seals_hold, series, thinned};
pub use web::import::path as import_path;

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[
    Kind::of::<entry::SamplesSealed>(),
    Kind::of::<entry::LoggerAdmitted>(),
    Kind::of::<entry::LoggerEnded>(),
];

/// The most that a file of samples may weigh, in bytes: a year of a sample a minute is about 15 MB.
pub const HEAVIEST: usize = 16 * 1024 * 1024;

/// What needs no sign-in: a device proves itself by its token.
pub fn open_routes() -> Router<App> {
    Router::new().route("/loggers/samples", post(web::send::take).layer(DefaultBodyLimit::max(HEAVIEST)))
}

pub fn routes() -> Router<App> {
    Router::new()
        .route("/loggers", get(web::index::page).post(web::index::admit))
        .route("/loggers/devices/{id}/end", post(web::index::end))
        .route(
            "/loggers/import",
            get(web::import::page).post(web::import::lay).layer(DefaultBodyLimit::max(HEAVIEST)),
        )
        .route("/loggers/drafts/{id}", get(web::draft::page).post(web::draft::sign))
        .route("/loggers/imports/{id}", get(web::sealed::page))
        .route("/loggers/imports/{id}/samples.txt", get(web::sealed::text))
}
