//! The pages of cold: a file a page.

pub mod batch;
pub mod lot;
