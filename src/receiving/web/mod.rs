//! The pages of receiving: a file a page, and what two of them share.

pub mod checks;
pub mod delivery;
pub mod index;
mod line_form;
pub mod open;
mod rows;
pub mod supplier;
mod supplier_form;
pub mod suppliers;
mod take_in;
