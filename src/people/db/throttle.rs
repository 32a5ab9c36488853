//! Tries to sign in that have not come out right yet.

use sha2::{Digest, Sha256};
use sqlx::{Acquire, PgConnection, query};
use time::{Duration, OffsetDateTime};

use super::super::throttle::{BY_ADDRESS, BY_NAME, FORGOTTEN, Limit};
use crate::error::Result;

/// What a try is counted under.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claim {
    /// As typed, in lower case; known here or not.
    pub name: String,
    /// Where it came from, if that is known.
    pub address: Option<String>,
}

impl Claim {
    /// Each key with its limit. Always in this order, so that two tries never wait for each other's rows.
    fn keys(&self) -> Vec<(Vec<u8>, Limit)> {
        let address = self.address.iter().map(|address| (key("address", address), BY_ADDRESS));
        address.chain([(key("name", &self.name), BY_NAME)]).collect()
    }
}

fn key(sort: &str, text: &str) -> Vec<u8> {
    Sha256::digest(format!("{sort} {text}")).to_vec()
}

/// Counts a try before its password is looked at, so that tries at the same moment count one by one; or says how long
/// to wait, and counts nothing.
pub async fn claim(db: &mut PgConnection, claim: &Claim, now: OffsetDateTime) -> Result<Option<Duration>> {
    let mut tx = db.begin().await?;
    query!(
        "DELETE FROM wrong_sign_in WHERE key IN (SELECT key FROM wrong_sign_in WHERE last_at < $1
                                                 FOR UPDATE SKIP LOCKED)",
        now - FORGOTTEN
    )
    .execute(&mut *tx)
    .await?;
    let mut longest = None;
    for (key, limit) in claim.keys() {
        let row = query!(
            "INSERT INTO wrong_sign_in (key, tries, last_at) VALUES ($1, 0, $2)
             ON CONFLICT (key) DO UPDATE SET tries = wrong_sign_in.tries RETURNING tries, last_at",
            &key,
            now
        )
        .fetch_one(&mut *tx)
        .await?;
        let tries = u32::try_from(row.tries).unwrap_or_default();
        longest = longest.max(limit.wait(tries, now - row.last_at));
    }
    if longest.is_some() {
        tx.rollback().await?;
        return Ok(longest);
    }
    let keys: Vec<Vec<u8>> = claim.keys().into_iter().map(|(key, _)| key).collect();
    query!("UPDATE wrong_sign_in SET tries = tries + 1, last_at = $2 WHERE key = ANY ($1)", &keys, now)
        .execute(&mut *tx)
        .await?;
    tx.commit().await?;
    Ok(None)
}

/// The try came out right: the name is free again, and the address has one try less against it. Not all of them: one
/// known password would otherwise buy endless tries at others.
pub async fn came_right(db: &mut PgConnection, claim: &Claim) -> Result<()> {
    forget_name(db, &claim.name).await?;
    if let Some(address) = &claim.address {
        query!(
            "UPDATE wrong_sign_in SET tries = greatest(tries - 1, 0) WHERE key = $1",
            key("address", address)
        )
        .execute(db)
        .await?;
    }
    Ok(())
}

/// Whoever was given a new password need not wait for the tries with the old one.
pub async fn forget_name(db: &mut PgConnection, name: &str) -> Result<()> {
    query!("DELETE FROM wrong_sign_in WHERE key = $1", key("name", name)).execute(db).await?;
    Ok(())
}
