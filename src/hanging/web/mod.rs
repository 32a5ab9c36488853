//! The pages of what hangs: a file a page.

pub mod climate;
pub mod index;
pub mod place;
mod plot;
pub mod rows;
pub mod shift;
pub mod weigh;
