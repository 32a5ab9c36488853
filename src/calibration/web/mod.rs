//! The pages of calibration: a file a page.

mod form;
pub mod index;
pub mod instrument;
pub mod part;
