//! The pages of costs: a file a page.

pub mod method;
