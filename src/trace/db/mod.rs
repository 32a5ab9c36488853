//! All SQL of the trace. It reads and never writes.

mod lineage;
mod look_up;
mod names;
mod sent;

pub use lineage::{Direction, Lineage, OriginChain, lineage, origin_chain};
pub use look_up::{Hit, look_up};
pub use names::{Known, Names, Sort, Source, names, source};
pub use sent::{Sending, dockets, sent_in, sent_to};
