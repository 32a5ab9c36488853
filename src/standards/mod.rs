//! Published formulas of the trade and of food law: pure arithmetic, one file a subject, each function with
//! its unit, its range, its error and its source. Nothing here reads a clock, a file or a database, and
//! nothing rounds on the way: a figure is rounded when it becomes one of the shop's measures, or by a scale.

/// What a label must name because some people fall ill of it.
pub mod allergens;

/// A weight before and after: loss, or gain.
mod change;

/// Ingoing nitrite and nitrate by the published methods, and one salt's weight as another's.
pub mod curing;

/// How long a fermenting product may stay warm before its pH is low enough.
pub mod degree_hours;

/// Loss against green weight, and the weight that a loss means.
pub mod drying;

/// What can be wrong with a figure before the arithmetic starts.
mod figure;

/// A recipe as proportions: of the meat block, of the whole, of the brine.
pub mod formula;

/// What a carcass cost, shared over the cuts that it gave.
pub mod joint_cost;

/// A recipe's proportions as weights, and what the scale's division does to them.
pub mod scaling;

/// Whether water activity and pH together let a food stand without cold, by the interaction tables of the FDA Food Code.
pub mod shelf_stability;

/// What share of a weight was got from it, and what has to be bought for what is needed.
pub mod yields;

pub use change::Change;
pub use figure::BadFigure;
