//! Journeys through the shop in a real browser at the size of a tablet, with scripts and without.
//!
//! Each journey opens a shop of its own: the program's router on a port, a database from the tests' cluster, a browser
//! with its own folder. Where one breaks off, a picture of the page lies in `target/browser/`.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on says so by stopping; its helpers too")]

mod axe;
mod driver;
mod journeys;
mod open;
mod picture;
#[path = "../it/shop/mod.rs"]
#[allow(dead_code, unused_imports, reason = "the shop of the other tests has more than a browser needs")]
mod shop;
mod tab;
mod walks;
