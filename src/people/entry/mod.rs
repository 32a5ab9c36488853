//! What the book says of the shop and its people.

mod person;
mod shop;

pub use person::{
    PersonAdded, PersonChanged, PersonReset, PersonRetired, PersonReturned, Secret, Standing, add,
    bring_back, change, reset, retire,
};
pub use shop::{ShopChanged, ShopFounded, change_shop, found};
