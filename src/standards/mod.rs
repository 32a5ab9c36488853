//! Published formulas of the trade and of food law: pure arithmetic, one file a subject, each function with
//! its unit, its range, its error and its source. Nothing here reads a clock, a file or a database, and
//! nothing rounds on the way: a figure is rounded when it becomes one of the shop's measures, or by a scale.

/// What a label must name because some people fall ill of it.
pub mod allergens;

/// A weight before and after: loss, or gain.
mod change;

/// Bins of lean and fat blended to a target.
pub mod blend;

/// Brine and pump: how much a pickle needs, and what salt it leaves.
pub mod brine;

/// Temperatures over a span of time against a limit: time out of cold, and time held.
pub mod cold;

/// Cooling of what was heated, phase by phase.
pub mod cooling;

/// Ingoing nitrite and nitrate by the published methods, and one salt's weight as another's.
pub mod curing;

/// How long a fermenting product may stay warm before its pH is low enough.
pub mod degree_hours;

/// Loss against green weight, and the weight that a loss means.
pub mod drying;

/// How long equilibrium cure takes by common practice, and what a piece weighs after it.
pub mod equilibrium;

/// What can be wrong with a figure before the arithmetic starts.
mod figure;

/// A recipe as proportions: of the meat block, of the whole, of the brine.
pub mod formula;

/// What goes into the meat by every method, in sodium and in potassium salts, and the ppm of it on any base.
pub mod ingoing;

/// What an instrument must show to be trusted: ice, boiling water, buffers, salts, test weights.
pub mod instruments;

/// What a carcass cost, shared over the cuts that it gave.
pub mod joint_cost;

/// Limits on what goes into cured meat, by jurisdiction and day, and how a figure stands to them.
pub mod limits;

/// Links and portions of a mince.
pub mod links;

/// Moisture to protein: what a dry or semi-dry sausage may be called.
pub mod naming;

/// How far a sack of cure goes.
pub mod sack;

/// How a published figure was come by, and how a thing asked for stands.
mod mark;

/// Sanitizer: how strong it is, and which of the published limits a reading meets.
pub mod sanitizer;

/// A recipe's proportions as weights, and what the scale's division does to them.
pub mod scaling;

/// Salt in the water of the meat, and what it says of water activity.
pub mod water_phase;

/// Water activity, pH and moisture against the published tables of what may be kept without cold.
pub mod shelf_stability;

/// Published treatments of pork against *Trichinella*, and what of them is recorded.
pub mod trichinella;

/// What share of a weight was got from it, and what has to be bought for what is needed.
pub mod yields;

pub use change::Change;
pub use figure::BadFigure;
pub use mark::{Held, Mark, State, cut_off, fahrenheit, found_temperature, in_fahrenheit};
