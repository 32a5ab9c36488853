//! Reading the book again from its first line, into empty tables.

use sqlx::PgConnection;

use super::db::{self, Read};
use super::entry::{Fact, Kinds, Seq, Written};
use super::strike::Struck;
use crate::error::Result;

/// Writes the projection of one entry; a strike also takes back that of the entry that it strikes.
pub(super) async fn apply(
    db: &mut PgConnection,
    kinds: &Kinds,
    at: &Written,
    kind: &str,
    body: &str,
    fact: &dyn Fact,
) -> Result<()> {
    if kind == <Struck as super::Entry>::KIND {
        let strike: Struck = serde_json::from_str(body).map_err(anyhow::Error::from)?;
        let struck = db::read_entry(db, strike.entry).await?.ok_or_else(|| {
            anyhow::anyhow!("entry {} strikes entry {}, which is not in the book", at.seq, strike.entry)
        })?;
        let old = kinds.read(&struck.kind, &struck.body)?;
        db::strike(db, &struck.at, at, &strike.reason).await?;
        return old.unapply(db, &struck.at, at.seq).await;
    }
    fact.apply(db, at).await
}

/// Writes one entry that was read from another book: the same row, its movements and projections made anew.
///
/// # Errors
/// Broken when the body does not give the movements that it was hashed with.
pub async fn again(db: &mut PgConnection, kinds: &Kinds, entry: &Read) -> Result<()> {
    let fact = kinds.read(&entry.kind, &entry.body)?;
    let effects = fact.effects();
    db::append(db, &entry.at, &entry.kind, &entry.body, &entry.prev, &entry.hash).await?;
    db::project(db, &entry.at, &effects).await?;
    apply(db, kinds, &entry.at, &entry.kind, &entry.body, fact.as_ref()).await
}

/// Replays a whole book from one schema into the one that this connection writes to; returns the last entry.
pub async fn all(db: &mut PgConnection, kinds: &Kinds, entries: &[Read]) -> Result<Option<Seq>> {
    for entry in entries {
        again(db, kinds, entry).await.map_err(|why| {
            anyhow::anyhow!("replay stops at entry {} ({}): {why}", entry.at.seq, entry.kind)
        })?;
    }
    Ok(entries.last().map(|entry| entry.at.seq))
}
