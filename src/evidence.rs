//! How a criterion stands by what is recorded. It says which recorded criteria were met and by which lines of the book;
//! whether a food is safe is not the program's to say.

use serde::{Deserialize, Serialize};

use crate::book::Seq;

/// What the book holds for one criterion.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub enum Found {
    /// Met, with the figure that met it and the entries that it was read from.
    Met { figure: String, by: Vec<Seq> },
    /// Not shown yet, with what is missing, in words that somebody can act on.
    NotYet { missing: String },
    /// Not met and never to be met by waiting, with what was found and what may be done about it.
    Failed { what: String, may: String, by: Vec<Seq> },
}

impl Found {
    pub fn met(figure: impl Into<String>, by: Vec<Seq>) -> Self {
        Self::Met { figure: figure.into(), by }
    }

    pub fn not_yet(missing: impl Into<String>) -> Self {
        Self::NotYet { missing: missing.into() }
    }

    pub fn failed(what: impl Into<String>, may: impl Into<String>, by: Vec<Seq>) -> Self {
        Self::Failed { what: what.into(), may: may.into(), by }
    }

    pub fn is_met(&self) -> bool {
        matches!(self, Self::Met { .. })
    }
}
