//! SQL of fermenting: what its entries write, and the runs as the readings tell them.

mod apply;
mod batches;
mod runs;

pub use apply::{LastJudged, adopted, last_judged};
pub use batches::{counting, stood_in, subjects, touched};
pub use runs::{run, runs};
