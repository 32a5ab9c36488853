//! What the book says of limits, and the rules of choosing and writing them.

mod own;
mod shipped;

pub use own::{CuringLimitWritten, write_own};
pub use shipped::{CuringLimitSwitched, LimitsAdopted, band, switch};
