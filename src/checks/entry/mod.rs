//! What the book says of readings, limits and checks, and the rules of each.

mod check;
mod limit;
mod usual;
mod value;

pub use check::{CheckRecorded, ReadingTaken, Recorded, record};
pub use limit::{Against, Applies, LimitWritten, Where, against, write_limit};
pub use usual::{Usual, usual};
pub use value::{Quantity, Value, band};
