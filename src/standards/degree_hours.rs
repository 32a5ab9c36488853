//! Degree-hours of a fermentation: how long a product may stay warm before its pH is low enough against the growth of
//! *Staphylococcus aureus*. For each hour the chamber's degrees above a critical temperature are added up, from stuffing to
//! the first reading of pH 5.3 or less, and held against a limit that the highest chamber temperature of that time decides.
//!
//! A temperature at or below the critical one adds nothing and takes nothing away. Between two readings the temperature is
//! taken to go in a straight line, so a reading that lies on the line changes nothing; what lies below the critical
//! temperature is cut off exactly, where the line crosses it. Two readings further apart than the largest gap tell nothing
//! of the time between: the higher of the two counts for all of it.

mod chamber;
mod plan;
mod rules;

pub use chamber::{Knot, Segment, Stay, Unread, Warmth, along, warmth};
pub use plan::{Step, constant, hours_left, may_take, schedule};
pub use rules::{Band, CANADA, Edge, Method, PH_END, RuleSet, Rules, Scale, UNITED_STATES, Until, Verdict};

#[cfg(test)]
mod tests;
