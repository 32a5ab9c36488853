//! What the book says of a batch, and the rules of making one. The shop's own weights and the recipe decide; who, when and
//! where come in as arguments.

mod actual;
mod ingredients;
mod making;
mod next;
mod stages;
mod standing;

pub use actual::{Actual, WeighedCure, actual};
pub use ingredients::{IngredientWeighed, Verdict, judge, weigh};
pub use making::{
    BatchBegun, Casing, CureApplied, MeatTaken, MixStuffed, MuscleTaken, PieceShare, StuffedPiece,
    apply_cure, begin, share_out, stuff, take_meat, take_muscle,
};
pub use next::{Next, next};
pub use stages::{BatchStaged, PiecesReleased, ReleasedPiece, early, next_step, release, stage};
pub use standing::{LineStanding, PieceStanding, Standing};

#[cfg(test)]
mod tests;
