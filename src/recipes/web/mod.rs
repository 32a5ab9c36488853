//! The pages of recipes: a file a page, and the rows of the form that writes one.

mod figures;
pub mod index;
pub mod reckon;
mod rows;
pub mod scale;
pub mod show;
pub mod write;

pub use figures::{how, no_limits, of_both, said};
pub use show::lasts;

use crate::measure::Percent;

/// What stands on every page with nitrite in it. Common practice, and the law's own words where there is one.
pub const NITRITE: &str = "Nitrite and nitrate are poisons in small amounts. Weigh a cure on a scale that reads a \
                           hundredth of what is weighed, by the strength on the pack in hand, never by spoon or by \
                           the name on the bag. The figures here are sums, not a permission: your regulator's limits \
                           decide.";

/// `2.75 %`, as it was written.
pub fn plain(percent: Percent) -> String {
    format!("{percent}\u{a0}%")
}
