//! What the book says of calibrations, and the rule of when one passes.

mod known;
mod question;
mod recorded;

pub use known::{Known, Shown};
pub use question::{Tried, passed_before, questioned_by, rested_on};
pub use recorded::{CalibrationRecorded, Flagged, Point, record};
