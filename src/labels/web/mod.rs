//! The pages of labels: a file a page.

pub mod print;
pub mod size;
pub mod sizes;
pub mod style;
mod views;
