//! All SQL of batches: what the entries write, and what rules and pages read.

mod apply;
mod standing;

pub use standing::standing;
