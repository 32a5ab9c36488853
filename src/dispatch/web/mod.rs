//! The pages of dispatch: a file a page, and the list of lots that two of them share.

pub mod customer;
pub mod customers;
pub mod discard;
pub mod discards;
pub mod docket;
pub mod draft;
pub mod export;
pub mod index;
pub mod new;
pub mod pack;
pub mod packs;

use crate::web::parts::Tab;

/// The sheets of the area.
fn tabs(here: &str) -> Vec<Tab> {
    let sheets = [
        ("/dispatch", "Dockets"),
        ("/dispatch/pack", "Pack"),
        ("/dispatch/discards", "Discarded"),
        ("/dispatch/customers", "Customers"),
    ];
    let tab = |(href, name): (&str, &str)| Tab {
        href: href.into(),
        name: name.into(),
        count: String::new(),
        here: href == here,
    };
    sheets.into_iter().map(tab).collect()
}

/// An address of several lines on one.
fn one_line(address: &str) -> String {
    address.lines().map(str::trim).filter(|line| !line.is_empty()).collect::<Vec<_>>().join(", ")
}
