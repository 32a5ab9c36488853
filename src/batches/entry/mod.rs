//! What the book says of a batch, and the rules of making one. The shop's own weights and the recipe decide; who, when and
//! where come in as arguments.

mod formulation;
mod ingredients;
mod making;
mod next;
mod stages;
mod standing;
mod stuffing;

pub use formulation::{Actual, actual, has_cure, is_cure, judged, nothing};
pub use ingredients::{IngredientWeighed, Verdict, judge, refused_cure, stated, weigh};
pub use making::{
    BatchBegun, CureApplied, MeatTaken, MuscleTaken, PieceShare, apply_cure, begin, share_out, take_meat,
    take_muscle,
};
pub use next::{Next, next};
pub use stages::{
    BatchStaged, MetThen, PiecesReleased, ReleasedPiece, Shown, early, is_record, next_step, release, stage,
};
pub use standing::{LineStanding, PieceStanding, Standing, Weighing};
pub use stuffing::{Casing, MixStuffed, StuffedPiece, stuff};

#[cfg(test)]
mod tests;
