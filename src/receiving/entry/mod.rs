//! What the book says of suppliers and of what they bring, and the rules at the door.

mod checks;
mod delivery;
mod door;
mod lot;
mod supplier;

pub use checks::{Checks, ChecksWritten, Failed};
pub use delivery::{DeliveryReceived, open};
pub use door::{Answer, Answered, Brought, Door, answer, failed, plausible};
pub use lot::{Animal, Basis, Checked, Goods, LotReceived, LotRefused};
pub use supplier::{SupplierWritten, write_supplier};
