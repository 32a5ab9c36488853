//! The pages of the book itself: a file a page.

pub mod entry;
pub mod index;
pub mod strike;
