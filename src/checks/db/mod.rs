//! SQL of readings, limits and checks.

mod apply;
mod due;
mod limits;
mod records;
mod subjects;

pub use due::{Due, due};
pub use limits::{any_limit, limit, limits};
pub use records::{Filter, Reading, Record, Verdict, readings_of, records, seq_of_check, verdicts};
pub use subjects::{Found, find, lots_of_batch, lots_of_lot, lots_of_place, still_here, subject};
