//! The pages of batches: a file a page, and for the batch's own page a file for each sheet that can be signed on it.

pub mod batch;
pub mod begin;
pub mod cure;
pub mod index;
pub mod ingredients;
pub mod meat;
mod numbers;
pub mod sheet;
pub mod stage;
pub mod stuff;
mod tables;
