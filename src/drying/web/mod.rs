//! The pages of drying: a batch's own, and what it adds to the page of the batch.

pub mod batch;
pub mod panel;
mod rows;

pub use rows::said;
