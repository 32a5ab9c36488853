//! The pages of the loggers, and the address that devices send to: a file a page.

pub mod draft;
pub mod import;
pub mod index;
mod reading;
pub mod sealed;
pub mod send;
