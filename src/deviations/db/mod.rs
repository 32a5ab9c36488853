//! SQL of deviations and holds.

mod apply;
mod closing;
mod holds;
mod reads;

pub use apply::{open, unopen};
pub use closing::{ByHand, Closing, closings};
pub use holds::{HeldLot, hold, holds};
pub use reads::{
    Action, Concerned, Listed, OpenDeviation, all_open_deviations, concerned, deviation, listed,
    open_deviations, standing,
};
