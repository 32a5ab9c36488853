//! The pages of this area: a file a page.

pub mod batch;
pub mod freezings;
pub mod index;
pub mod methods;
pub mod product;

use crate::standards::State;
use crate::web::parts::{State as Mark, Tab};

/// A state as a mark and a word.
fn mark(state: State) -> Mark {
    let mark = match state {
        State::Met => "met",
        State::Missing => "wait",
        State::Failed => "out",
    };
    Mark::new(mark, state.word())
}

/// The sheets of this area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sheet {
    Products,
    Freezings,
    Methods,
}

fn tabs(here: Sheet) -> Vec<Tab> {
    let tab = |sheet: Sheet, href: &str, name: &str| Tab {
        href: href.into(),
        name: name.into(),
        count: String::new(),
        here: sheet == here,
    };
    vec![
        tab(Sheet::Products, "/parasites", "Products and batches"),
        tab(Sheet::Freezings, "/parasites/freezings", "Freezings"),
        tab(Sheet::Methods, "/parasites/methods", "Published treatments"),
    ]
}
