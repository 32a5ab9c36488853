//! The pages of limits, and a figure beside its limit as other rooms show it.

mod held;
pub mod index;
pub mod own;
pub mod row;

pub use held::{CureOf, HeldRow, held_rows, over, shown};

/// What stands on every page of limits.
pub const NOT_SAID: &str = "Limits here are data with their citation, not advice. Your local code, your regulator and, for a \
                            process outside the book, a process authority decide.";
