//! The one way in. Whoever holds the pen is the only one who writes: a rule that holds when it is checked still holds
//! when its entry is written.

use std::ops::{Deref, DerefMut};

use sqlx::{PgConnection, Postgres, Transaction};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::chain::{self, Hash};
use super::entry::{Entry, Kinds, Project, Seq, Written};
use super::{Book, db, replay};
use crate::error::{Refusal, Result};
use crate::ids::{PersonId, derived};
use crate::measure::LotCode;

/// Who signs, which form it came on, and when it happened.
#[derive(Debug, Clone, Copy)]
pub struct Stamp {
    /// The id that the form was given when it was drawn: a form that is sent twice is one entry.
    pub id: Uuid,
    /// SHA-256 of what was sent on it.
    pub digest: Hash,
    pub person: PersonId,
    /// When it happened, where the person says so; otherwise now.
    pub happened_at: Option<OffsetDateTime>,
}

/// How far a tablet's clock may run ahead of the server's before its time is called the future.
const AHEAD: Duration = Duration::minutes(2);

/// The pen, in one hand at a time. Nothing is written until [`Pen::commit`].
pub struct Pen {
    tx: Transaction<'static, Postgres>,
    kinds: std::sync::Arc<Kinds>,
    stamp: Stamp,
    now: OffsetDateTime,
    head: (Seq, Hash),
    written: usize,
}

impl Book {
    /// Takes the pen, waiting for whoever has it. `None` when this form is in the book already.
    ///
    /// # Errors
    /// A refusal when another text was signed on this form before: nothing that was typed may be lost in silence.
    pub async fn pen(&self, stamp: Stamp) -> Result<Option<Pen>> {
        let mut tx = self.pool.begin().await?;
        db::take_the_pen(&mut tx).await?;
        match db::sent(&mut tx, stamp.id).await? {
            Some(digest) if digest == stamp.digest => return Ok(None),
            Some(_) => {
                return Err(Refusal::of(
                    "This form was signed before with something else on it. The page now shows what the book holds; \
                     sign again here if this line belongs in it as well.",
                )
                .into());
            }
            None => db::remember_sent(&mut tx, stamp.id, &stamp.digest).await?,
        }
        let now = chain::to_microseconds(self.clock.now());
        if stamp.happened_at.is_some_and(|at| at > now + AHEAD) {
            return Err(
                Refusal::at("when", "This time has not come yet. Give the time when it happened.").into()
            );
        }
        let head = db::head(&mut tx).await?;
        Ok(Some(Pen { tx, kinds: self.kinds.clone(), stamp, now, head, written: 0 }))
    }
}

impl Pen {
    /// Writes an entry: the chain, its movements and its projection. Nothing else inserts evidence.
    ///
    /// # Errors
    /// A refusal when more would leave a lot than it holds; broken when the movements do not sum to zero.
    pub async fn append<T: Project>(&mut self, entry: T) -> Result<Seq> {
        let at = self.next();
        let body = chain::canonical_body(&entry)?;
        let effects = Entry::effects(&entry);
        if !effects.imbalance().is_zero() {
            return Err(anyhow::anyhow!("a {} does not balance: {:?}", T::KIND, effects.imbalance()).into());
        }
        let hash = chain::hash(&at, T::KIND, &body, &effects.movements, &self.head.1)?;
        db::append(&mut self.tx, &at, T::KIND, &body, &self.head.1, &hash).await?;
        db::project(&mut self.tx, &at, &effects).await?;
        replay::apply(&mut self.tx, &self.kinds, &at, T::KIND, &body, &entry).await?;
        self.head = (at.seq, hash);
        self.written += 1;
        Ok(at.seq)
    }

    /// Lays the pen down. Only now does it stand in the book.
    pub async fn commit(self) -> Result<()> {
        Ok(self.tx.commit().await?)
    }

    /// What the next entry will carry; its id is what the thing that it makes is named after.
    pub fn next(&self) -> Written {
        let id =
            if self.written == 0 { self.stamp.id } else { derived(self.stamp.id, "entry", self.written) };
        let happened_at =
            self.stamp.happened_at.map_or(self.now, |at| chain::to_microseconds(at).min(self.now));
        Written {
            seq: Seq(self.head.0.0 + 1),
            id,
            person: self.stamp.person,
            happened_at,
            recorded_at: self.now,
        }
    }

    /// What is written from here on happened at this moment, or now where it has not come yet.
    pub fn happened(&mut self, at: OffsetDateTime) {
        self.stamp.happened_at = Some(at);
    }

    pub(super) fn kinds(&self) -> std::sync::Arc<Kinds> {
        self.kinds.clone()
    }

    /// The next free code of a day: `26329-03`.
    pub async fn next_code(&mut self, day: time::Date) -> Result<LotCode> {
        db::next_code(&mut self.tx, day).await
    }

    /// The number of the next piece under the root of this code.
    pub async fn next_piece(&mut self, code: &LotCode) -> Result<u16> {
        db::next_piece(&mut self.tx, code).await
    }
}

impl Deref for Pen {
    type Target = PgConnection;
    fn deref(&self) -> &PgConnection {
        &self.tx
    }
}

impl DerefMut for Pen {
    fn deref_mut(&mut self) -> &mut PgConnection {
        &mut self.tx
    }
}
