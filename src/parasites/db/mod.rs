//! All SQL of this area: what the entries write, and what is read of a batch.

mod apply;
mod controls;
mod record;

pub use controls::{
    Chosen, ConfirmedMethod, FreezingRow, Product, chosen, freezings, methods, product, products,
};
pub use record::{
    BatchRow, FromSupplier, Frozen, FrozenIn, Ingredient, MeatRow, ReadOn, StageSpan, Stuffed, batch,
    batches, from_suppliers, frozen, ingredients, meat, pieces, read_on_batch, read_on_lots, stages, stuffed,
};
