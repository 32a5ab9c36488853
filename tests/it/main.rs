//! The tests that need more than a rule: a real PostgreSQL, the whole router.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on says so by stopping; its helpers too")]

mod backup;
mod batches;
mod block;
mod book;
mod cluster;
mod receiving;
mod recipes;
mod shop;
mod signing_in;
