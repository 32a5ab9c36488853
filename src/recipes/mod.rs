//! Formulas by proportion: lines in per cent of the meat, of the whole or of the brine, and the steps that follow the
//! making. A change is the next version; a version that was used never changes. Scaling and ingoing ppm are worked out
//! here, from the recipe and from the strength of the lots at hand.

pub mod db;
pub mod entry;
mod proportions;
mod words;

use crate::book::Kind;

pub use db::{Recipe, recipe};
pub use entry::{RecipeLine, RecipeStep};
pub use proportions::Proportions;
pub(crate) use words::words;
pub use words::{Per, RecipeKind, Role, Stage};

/// The kinds of entry that this area writes.
pub const KINDS: &[Kind] = &[Kind::of::<entry::RecipeWritten>(), Kind::of::<entry::RecipeRetired>()];
