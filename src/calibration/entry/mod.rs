//! What the book says of calibrations, and the rule of when one passes.

mod known;
mod recorded;

pub use known::{Known, Shown};
pub use recorded::{CalibrationRecorded, Flagged, Point, record};
