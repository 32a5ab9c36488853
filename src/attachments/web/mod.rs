//! The pages of papers: a file a page.

pub mod attach;
pub mod index;
pub mod paper;
pub mod part;

use super::db::Paper;
use super::entry::size;
use crate::web::parts::State as Mark;
use crate::web::{Me, ledger};

/// A paper as lists show it.
pub struct Row {
    pub href: String,
    pub file: String,
    pub name: String,
    pub sort: &'static str,
    pub note: String,
    pub media: String,
    pub when: String,
    pub initials: String,
    pub state: Option<Mark>,
}

pub fn row(me: &Me, paper: &Paper) -> Row {
    let bytes = u32::try_from(paper.bytes).unwrap_or_default();
    Row {
        href: paper.id.path(),
        file: format!("{}/file", paper.id.path()),
        name: paper.name.clone(),
        sort: paper.sort.word(),
        note: paper.note.clone(),
        media: format!("{}, {}", paper.media.word(), size(bytes)),
        when: ledger::moment(me, paper.at),
        initials: paper.initials.clone(),
        state: paper.struck.then(|| Mark::new("gone", "struck")),
    }
}
