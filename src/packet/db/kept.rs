//! The packets that were made, and their files.

use sha2::{Digest, Sha256};
use sqlx::{PgConnection, query, query_as, query_scalar};

use crate::book::chain::Hash;
use crate::book::verify::Finding;
use crate::book::{Project, Sealed, Seq, Written};
use crate::error::Result;
use crate::packet::entry::{PacketMade, Scope};

impl Project for PacketMade {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let lines = i32::try_from(self.lines).map_err(anyhow::Error::from)?;
        query!(
            "INSERT INTO packet (seq, scope, name, reader, upto, lines, sha256)
             VALUES ($1, $2, $3, $4, $5, $6, decode($7, 'hex'))",
            at.seq as Seq,
            self.scope.to_string(),
            self.name,
            self.reader,
            self.upto as Seq,
            lines,
            self.sha256
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// A packet that was made.
pub struct Kept {
    pub seq: Seq,
    pub scope: String,
    pub name: String,
    pub reader: String,
    pub made_at: time::OffsetDateTime,
    pub initials: String,
    pub sha256: Vec<u8>,
}

/// The packets made of a thing, or of anything where none is named; the latest first.
pub async fn made_of(db: &mut PgConnection, scope: Option<Scope>, limit: i64) -> Result<Vec<Kept>> {
    let rows = query_as!(
        Kept,
        r#"SELECT p.seq AS "seq: Seq", p.scope, p.name, p.reader, e.recorded_at AS made_at,
                  coalesce(w.initials, '') AS "initials!", p.sha256
           FROM packet p JOIN entry e ON e.seq = p.seq LEFT JOIN signer w ON w.id = e.person
           WHERE $1::text IS NULL OR p.scope = $1 ORDER BY p.seq DESC LIMIT $2"#,
        scope.map(|scope| scope.to_string()),
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// Keeps the file of a packet.
pub async fn keep_file(db: &mut PgConnection, seq: Seq, pdf: &[u8]) -> Result<()> {
    query!("INSERT INTO packet_file (seq, pdf) VALUES ($1, $2)", seq as Seq, pdf).execute(db).await?;
    Ok(())
}

/// The file of a packet, and the hash that the book has of it.
pub async fn of_file(db: &mut PgConnection, seq: Seq) -> Result<Option<(Vec<u8>, Hash)>> {
    let Some(pdf) = query_scalar!("SELECT pdf FROM packet_file WHERE seq = $1", seq as Seq)
        .fetch_optional(&mut *db)
        .await?
    else {
        return Ok(None);
    };
    let hash = query_scalar!("SELECT sha256 FROM packet WHERE seq = $1", seq as Seq).fetch_one(db).await?;
    Ok(Some((pdf, Hash::try_from(hash.as_slice()).map_err(anyhow::Error::from)?)))
}

/// Recomputes the hash of every file that was signed for and names the line whose file is another, or is gone.
pub fn seals_hold(db: &mut PgConnection) -> Sealed<'_> {
    Box::pin(look(db))
}

async fn look(db: &mut PgConnection) -> Result<Vec<Finding>> {
    let mut findings = Vec::new();
    let all =
        query_scalar!(r#"SELECT seq AS "seq: Seq" FROM packet ORDER BY seq"#).fetch_all(&mut *db).await?;
    // One by one: a year of the shop is some megabytes.
    for seq in all {
        let what = match of_file(db, seq).await? {
            None => "the file of this packet is gone",
            Some((pdf, hash)) if Sha256::digest(&pdf)[..] != hash => {
                "the file of this packet is not the one that was signed for"
            }
            Some(_) => continue,
        };
        findings.push(Finding { seq: Some(seq), what: what.to_owned() });
    }
    Ok(findings)
}
