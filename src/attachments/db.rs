//! SQL of papers: what is attached to what, the bytes, and whether they are still those that were signed.

use sha2::{Digest, Sha256};
use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use super::entry::{About, Media, PaperAttached, Sort};
use crate::book::verify::Finding;
use crate::book::{Project, Sealed, Seq, Written, chain};
use crate::error::Result;
use crate::ids::{BatchId, DeliveryId, DeviationId, InstrumentId, LotId, Named, PaperId, SupplierId};

impl Project for PaperAttached {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let bytes = i32::try_from(self.bytes).map_err(anyhow::Error::from)?;
        query!(
            "INSERT INTO paper (id, about, subject, line, sort, name, note, media, bytes, sha256, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, decode($10, 'hex'), $11)",
            self.paper.0,
            self.about.word(),
            self.about.subject(),
            self.about.line() as Option<Seq>,
            self.sort as Sort,
            self.name,
            self.note,
            self.media as Media,
            bytes,
            self.sha256,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE paper SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

/// Lays the bytes beside the entry that seals them.
pub async fn lay(db: &mut PgConnection, paper: PaperId, body: &[u8]) -> Result<()> {
    query!("INSERT INTO paper_body (paper, body) VALUES ($1, $2)", paper.0, body).execute(db).await?;
    Ok(())
}

/// The bytes of a paper.
pub async fn body(db: &mut PgConnection, paper: PaperId) -> Result<Option<Vec<u8>>> {
    Ok(query_scalar!("SELECT body FROM paper_body WHERE paper = $1", paper.0).fetch_optional(db).await?)
}

/// A paper as pages show it.
#[derive(Debug, Clone)]
pub struct Paper {
    pub id: PaperId,
    pub about: String,
    pub subject: Option<Uuid>,
    pub line: Option<Seq>,
    pub sort: Sort,
    pub name: String,
    pub note: String,
    pub media: Media,
    pub bytes: i32,
    pub sha256: Vec<u8>,
    pub seq: Seq,
    pub struck: bool,
    pub at: OffsetDateTime,
    pub initials: String,
}

impl Paper {
    pub fn hash(&self) -> String {
        chain::hex(&self.sha256)
    }
}

/// `query_as!` takes its text literally, so what the readings share stands here once.
macro_rules! papers {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            Paper,
            r#"SELECT p.id AS "id: PaperId", p.about, p.subject, p.line AS "line: Seq", p.sort AS "sort: Sort", p.name, p.note,
                      p.media AS "media: Media", p.bytes, p.sha256, p.seq AS "seq: Seq",
                      p.struck_by IS NOT NULL AS "struck!", e.happened_at AS at, coalesce(w.initials, '') AS "initials!"
               FROM paper p JOIN entry e ON e.seq = p.seq LEFT JOIN signer w ON w.id = e.person "# + $tail
            $(, $arg)*
        )
    };
}

/// The papers of a thing or of a line, the latest first.
pub async fn papers_of(db: &mut PgConnection, about: &About) -> Result<Vec<Paper>> {
    let (subject, line) = (about.subject(), about.line());
    let rows =
        papers!("WHERE p.subject = $1 OR p.line = $2 ORDER BY p.seq DESC", subject, line as Option<Seq>);
    Ok(rows.fetch_all(db).await?)
}

/// A leaf of all papers, the latest first.
pub async fn papers(db: &mut PgConnection, before: Seq, limit: i64) -> Result<Vec<Paper>> {
    Ok(papers!("WHERE p.seq < $1 ORDER BY p.seq DESC LIMIT $2", before as Seq, limit).fetch_all(db).await?)
}

/// One paper.
pub async fn paper(db: &mut PgConnection, id: PaperId) -> Result<Option<Paper>> {
    Ok(papers!("WHERE p.id = $1", id.0).fetch_optional(db).await?)
}

/// What an address names: `supplier` and an id, `line` and a number. `None` where nothing has it.
pub async fn named(db: &mut PgConnection, word: &str, id: &str) -> Result<Option<About>> {
    if word == "line" {
        let Ok(seq) = id.parse::<i64>() else { return Ok(None) };
        let stands = query_scalar!(r#"SELECT seq AS "seq: Seq" FROM entry WHERE seq = $1"#, seq);
        return Ok(stands.fetch_optional(db).await?.map(About::Line));
    }
    let Ok(id) = Uuid::parse_str(id) else { return Ok(None) };
    let name = query_scalar!(
        r#"SELECT name AS "name!" FROM (
               SELECT 'supplier' AS word, id, name FROM supplier
               UNION ALL SELECT 'delivery', d.id, s.name || CASE WHEN d.docket = '' THEN '' ELSE ', ' || d.docket END
                         FROM delivery d JOIN supplier s ON s.id = d.supplier
               UNION ALL SELECT 'lot', id, code || ' ' || item_name FROM lot
               UNION ALL SELECT 'batch', b.id, l.code || ' ' || l.item_name FROM batch b JOIN lot l ON l.id = b.mix
               UNION ALL SELECT 'deviation', id, what FROM deviation
               UNION ALL SELECT 'instrument', id, name FROM instrument) t
           WHERE word = $1 AND id = $2"#,
        word,
        id
    )
    .fetch_optional(db)
    .await?;
    Ok(name.and_then(|name| {
        Some(match word {
            "supplier" => About::Supplier(Named::new(SupplierId(id), name)),
            "delivery" => About::Delivery(Named::new(DeliveryId(id), name)),
            "lot" => About::Lot(Named::new(LotId(id), name)),
            "batch" => About::Batch(Named::new(BatchId(id), name)),
            "deviation" => About::Deviation(Named::new(DeviationId(id), name)),
            "instrument" => About::Instrument(Named::new(InstrumentId(id), name)),
            _ => return None,
        })
    }))
}

/// The kind of a line of the book.
pub async fn kind_of(db: &mut PgConnection, line: Seq) -> Result<Option<String>> {
    Ok(query_scalar!("SELECT kind FROM entry WHERE seq = $1", line as Seq).fetch_optional(db).await?)
}

/// Recomputes the hash of every paper and names the entry whose bytes are not those that it sealed, or are gone.
pub fn seals_hold(db: &mut PgConnection) -> Sealed<'_> {
    Box::pin(look(db))
}

async fn look(db: &mut PgConnection) -> Result<Vec<Finding>> {
    let mut findings = Vec::new();
    let all =
        query!(r#"SELECT id AS "id: PaperId", seq AS "seq: Seq", name, sha256 FROM paper ORDER BY seq"#)
            .fetch_all(&mut *db)
            .await?;
    // One by one: all of them together need not fit into memory.
    for paper in all {
        let what = match body(db, paper.id).await? {
            None => format!("the bytes of {} are gone", paper.name),
            Some(body) if Sha256::digest(&body).as_slice() != paper.sha256.as_slice() => {
                format!("the bytes of {} are not those that were signed", paper.name)
            }
            Some(_) => continue,
        };
        findings.push(Finding { seq: Some(paper.seq), what });
    }
    Ok(findings)
}
