//! What the book says of readings, limits, checks, deviations and holds, and the rules of each.

mod check;
mod deviation;
mod hold;
mod limit;
mod usual;
mod value;

pub use check::{CheckRecorded, On, Opened, ReadingTaken, Recorded, Subject, record};
pub use deviation::{
    Decided, Decision, DeviationClosed, DeviationCorrected, Part, Parts, Standing, close, correct,
};
pub use hold::{Hold, HoldLifted, LotHeld, hold, lift};
pub use limit::{Against, Applies, LimitWritten, Where, against, write_limit};
pub use usual::{Usual, usual};
pub use value::{Quantity, Value, band};
