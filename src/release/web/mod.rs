//! Pages of families, reviews and releases.

pub mod families;
pub mod family;
pub mod panel;
pub mod release;
pub mod review;
pub mod views;

/// What stands on every page of this room.
pub const WHO_DECIDES: &str = "These are criteria that this shop has written down, met or not by what is recorded. Local codes, \
                               the regulator and a process authority decide what may be sold.";
