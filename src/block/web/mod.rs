//! The pages of the block: a file a page, and what the pages of one breakdown share.

mod balance;
pub mod breakdown;
mod carried;
pub mod closing;
pub mod cut_list;
pub mod cut_lists;
mod heading;
pub mod index;
mod picks;
mod result;
pub mod source;

use crate::web::parts::Tab;

/// The sheets of the block.
fn tabs(here: &str) -> Vec<Tab> {
    [("/block", "Breakdowns"), ("/block/cut-lists", "Cut lists")]
        .map(|(href, name)| Tab {
            href: href.into(),
            name: name.into(),
            count: String::new(),
            here: href == here,
        })
        .into()
}
