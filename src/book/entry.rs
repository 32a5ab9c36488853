//! What an entry is: one Rust type a kind, in the area that it belongs to. The book knows none of them by name.

use std::collections::BTreeMap;
use std::fmt;
use std::future::Future;
use std::pin::Pin;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sqlx::PgConnection;
use time::OffsetDateTime;
use uuid::Uuid;

use super::effects::Effects;
use super::line::{Line, Say};
use super::verify::Finding;
use crate::error::Result;
use crate::ids::PersonId;

/// An entry's place in the book: 1, 2, 3, no gaps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[serde(transparent)]
#[sqlx(transparent)]
pub struct Seq(pub i64);

impl fmt::Display for Seq {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Where, when and by whom an entry was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    pub seq: Seq,
    /// The form's id, and so the entry's.
    pub id: Uuid,
    pub person: PersonId,
    /// When it happened, as the person states it.
    pub happened_at: OffsetDateTime,
    /// When the server wrote it.
    pub recorded_at: OffsetDateTime,
}

/// A fact of the shop, typed. Its body is what replay reads, so a field is only ever added, and then optional.
pub trait Entry: Serialize + DeserializeOwned + Send + Sync + 'static {
    /// A dotted trade word: `cut.weighed`.
    const KIND: &'static str;
    /// Whether a person may strike it. What cannot be taken back is mended by a later entry instead.
    const CAN_BE_STRUCK: bool = false;

    /// What it does, from its body alone.
    fn effects(&self) -> Effects {
        Effects::none()
    }

    /// How it reads as a line in the book.
    fn line(&self, say: &Say) -> Line;
}

/// How an entry changes the tables of its area. Written in the area's `db.rs`.
pub trait Project: Entry {
    /// Writes the projection. Every row that it writes carries the entry's `seq`.
    fn apply(&self, _db: &mut PgConnection, _at: &Written) -> impl Future<Output = Result<()>> + Send {
        async { Ok(()) }
    }

    /// Takes the projection back when the entry at `at` is struck by the one at `by`.
    fn unapply(
        &self,
        _db: &mut PgConnection,
        _at: &Written,
        _by: Seq,
    ) -> impl Future<Output = Result<()>> + Send {
        async { Ok(()) }
    }
}

type Doing<'a> = Pin<Box<dyn Future<Output = Result<()>> + Send + 'a>>;

/// An entry whose kind is only known by its name.
pub trait Fact: Send + Sync {
    fn effects(&self) -> Effects;
    fn line(&self, say: &Say) -> Line;
    fn apply<'a>(&'a self, db: &'a mut PgConnection, at: &'a Written) -> Doing<'a>;
    fn unapply<'a>(&'a self, db: &'a mut PgConnection, at: &'a Written, by: Seq) -> Doing<'a>;
}

impl<T: Project> Fact for T {
    fn effects(&self) -> Effects {
        Entry::effects(self)
    }
    fn line(&self, say: &Say) -> Line {
        Entry::line(self, say)
    }
    fn apply<'a>(&'a self, db: &'a mut PgConnection, at: &'a Written) -> Doing<'a> {
        Box::pin(Project::apply(self, db, at))
    }
    fn unapply<'a>(&'a self, db: &'a mut PgConnection, at: &'a Written, by: Seq) -> Doing<'a> {
        Box::pin(Project::unapply(self, db, at, by))
    }
}

/// What the book needs to know of a kind to read it again.
#[derive(Clone, Copy)]
pub struct Kind {
    pub name: &'static str,
    pub can_be_struck: bool,
    read: fn(&str) -> Result<Box<dyn Fact>, serde_json::Error>,
}

impl Kind {
    pub const fn of<T: Project>() -> Self {
        Self {
            name: T::KIND,
            can_be_struck: T::CAN_BE_STRUCK,
            read: |body| Ok(Box::new(serde_json::from_str::<T>(body)?)),
        }
    }
}

/// Looks whether what stands beside the book, sealed by its entries, is still as it was sealed. An area hands it to the
/// book, which knows none of them.
pub type Seal = for<'a> fn(&'a mut PgConnection) -> Sealed<'a>;

/// What a seal finds that does not fit.
pub type Sealed<'a> = Pin<Box<dyn Future<Output = Result<Vec<Finding>>> + Send + 'a>>;

/// All kinds that this program can read, and the seals that some of them lay.
pub struct Kinds {
    all: BTreeMap<&'static str, Kind>,
    pub(super) seals: &'static [Seal],
}

impl Kinds {
    /// # Panics
    /// When two areas give one name to their kinds; the first test that runs finds it.
    pub fn new(kinds: impl IntoIterator<Item = Kind>) -> Self {
        let mut all = BTreeMap::new();
        for kind in kinds {
            let before = all.insert(kind.name, kind);
            assert!(before.is_none(), "two kinds of entry are called {}", kind.name);
        }
        Self { all, seals: &[] }
    }

    /// With the seals that verify looks at.
    #[must_use]
    pub fn sealed_by(self, seals: &'static [Seal]) -> Self {
        Self { seals, ..self }
    }

    pub fn get(&self, name: &str) -> Option<&Kind> {
        self.all.get(name)
    }

    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.all.keys().copied()
    }

    /// Reads a body. A kind or a body that this program does not understand is a failure, not a refusal.
    pub fn read(&self, kind: &str, body: &str) -> Result<Box<dyn Fact>> {
        let known =
            self.get(kind).ok_or_else(|| anyhow::anyhow!("no entry of this program is called {kind}"))?;
        Ok((known.read)(body).map_err(|why| anyhow::anyhow!("the body of a {kind} cannot be read: {why}"))?)
    }
}
