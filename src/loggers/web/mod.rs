//! The pages of the loggers, and the address that devices send to: a file a page.

pub mod draft;
pub mod import;
pub mod index;
mod reading;
pub mod sealed;
pub mod send;

use time::OffsetDateTime;

use crate::web::{Me, ledger};

/// "25 Nov 07:20"
fn moment(me: &Me, at: OffsetDateTime) -> String {
    format!("{} {}", ledger::day(me, at), ledger::time(me, at))
}
