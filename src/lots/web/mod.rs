//! The pages of a lot: a file a page.

pub mod count;
pub mod find;
pub mod lot;
mod other;
mod piece;
mod stands;
