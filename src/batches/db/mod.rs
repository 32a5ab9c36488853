//! All SQL of batches: what the entries write, and what rules and pages read.

mod apply;
mod reads;
mod rests_on;
mod standing;

pub use reads::{
    Listed, RawLot, StageRow, Stuffing, TakenMeat, WeighedIngredient, ingredients, laid_on,
    lies_on_the_block, listed, made_by, meat, raw_lots, reviews, stages, stuffings,
};
pub use standing::standing;
