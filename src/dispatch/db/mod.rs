//! SQL of customers, packs, dispatches and discards.

mod project;
mod read;

pub use read::{
    Customer, Discarded, Docket, Packed, Packing, Row, Sent, customer, customers, discards, docket,
    held_behind, leaving, leaving_of, next_reference, packable, packed, packing, ready, sent,
};
