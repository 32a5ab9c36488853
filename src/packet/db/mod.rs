//! All SQL of the packet: which lines of the book concern a thing, and the packets that were made.

pub mod drawing;
mod kept;
mod select;
mod subject;

pub(super) use kept::keep_file;
pub use kept::{Kept, made_of, of_file, seals_hold};
pub use select::{Picked, movements, pick, sanitation, snapshot};
pub use subject::{BatchNamed, LotNamed, batch_of_mix, batches, place_name, places};
