//! What the book says of families, reviews and releases, and their rules: who may loosen what, who may review, and that
//! nothing is released unless every criterion is met.

pub mod criterion;
pub mod family;
pub mod judge;
mod readings;
pub mod release;
mod rested;
pub mod review;

#[cfg(test)]
mod tests;

pub use criterion::{Asks, Criterion, Rule};
pub use family::{FamilyWritten, ProductPlaced, Shipped};
pub use judge::{Evidence, Of, Stood, judge};
pub use rested::{EvidenceStruck, Rested, evidence_struck};
pub use review::RecordsReviewed;
