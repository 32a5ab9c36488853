//! SQL of readings, limits, checks, deviations and holds.

mod apply;
mod deviations;
mod due;
mod holds;
mod limits;
mod records;
mod subjects;

pub use deviations::{
    Action, Concerned, Listed, OpenDeviation, all_open_deviations, concerned, deviation, listed,
    open_deviations, standing,
};
pub use due::{Due, due};
pub use holds::{HeldLot, hold, holds};
pub use limits::{any_limit, limit, limits};
pub use records::{Filter, Reading, Record, Verdict, readings_of, records, seq_of_check, verdicts};
pub use subjects::{Found, find, lots_of_batch, lots_of_lot, lots_of_place, subject};
