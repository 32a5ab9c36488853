//! The pages of what the shop has: a file a page.

pub mod index;
pub mod instrument;
pub mod instruments;
pub mod item;
pub mod items;
pub mod place;
pub mod places;

use crate::web::parts::State;

/// How a thing, a place or an instrument stands.
fn in_use(retired: bool) -> State {
    if retired { State::new("gone", "no longer used") } else { State::new("met", "in use") }
}

/// What a tick says of itself.
fn tick(yes: bool) -> String {
    if yes { "yes".into() } else { String::new() }
}
