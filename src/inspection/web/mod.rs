//! The pages of an inspection: a file a page.

pub mod index;
pub mod retention;
