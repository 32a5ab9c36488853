//! All SQL of the packet: which lines of the book concern a thing, and the packets that were made.

mod kept;
mod select;
mod subject;

pub(super) use kept::keep_file;
pub use kept::{Kept, made_of, of_file};
pub use select::{Picked, movements, pick, snapshot};
pub use subject::{BatchNamed, LotNamed, batch_of_mix, batches, place_name, places};
