//! The pages of the block: a file a page.

pub mod breakdown;
pub mod index;
