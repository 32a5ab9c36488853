//! What the book says of the shop and its people.

mod inspector;
mod person;
mod shop;

pub use inspector::{InspectorAdmitted, InspectorVisited, LONGEST, admit};
pub use person::{
    PersonAdded, PersonChanged, PersonReset, PersonRetired, PersonReturned, Secret, Standing, add,
    bring_back, change, reset, retire,
};
pub use shop::{ShopChanged, ShopFounded, change_shop, found};
