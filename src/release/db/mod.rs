//! SQL of families, reviews and the evidence that a release rests on.

mod evidence;
mod families;
mod rests_on;
mod review;

pub use evidence::{Limited, Standing, ccps, open_on_batch, pieces, readings, standing};
pub use families::{Placed, families, family, family_of, products};
pub use rests_on::resting_on;
pub use review::{makers, record, reviewed};
