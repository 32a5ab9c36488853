//! The tests that need more than a rule: a real PostgreSQL, the whole router.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on says so by stopping; its helpers too")]

mod backup;
mod batches;
mod block;
mod book;
mod book_model;
mod crawl;
mod golden;
mod house_rules;
mod checks;
mod cluster;
mod recipes;
mod dispatch;
mod trace;
mod hanging;
mod lots;
mod receiving;
mod shop;
mod signing_in;
mod today;
