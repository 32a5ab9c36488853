//! The tests that need more than a rule: a real PostgreSQL, the whole router.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on says so by stopping; its helpers too")]

mod attachments;
mod backup;
mod bad_input;
mod batches;
mod block;
mod book;
mod book_model;
mod breakdown;
mod calibration;
mod checks;
mod cluster;
mod crawl;
mod cut_lists;
mod demo;
mod dispatch;
mod drying;
mod encrypted;
mod fermenting;
mod golden;
mod hanging;
mod house_rules;
mod inspection;
mod labels;
mod limits;
mod loggers;
mod lots;
mod oracle;
mod packet;
mod parasites;
mod people;
mod plan;
mod published;
mod receiving;
mod recipes;
mod reckoning;
mod release;
mod setup;
mod shop;
mod signing_in;
mod start;
mod today;
mod trace;
mod two_instances;
mod yields;
