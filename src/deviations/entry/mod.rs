//! What the book says of deviations and holds, and the rules of each.

mod deviation;
mod hold;
mod opened;
mod subject;

pub use deviation::{
    Decided, Decision, DeviationClosed, DeviationCorrected, Part, Parts, Standing, close, correct,
};
pub use hold::{Hold, HoldLifted, LotHeld, hold, lift};
pub use opened::Opened;
pub use subject::{FoundOn, On, Subject};
