//! Reviews: who made the records, how far the last review looked, whether it stands; and the records of a batch.

use sqlx::{PgConnection, query, query_scalar};

use crate::book::{self, Project, Seq, Written};
use crate::error::Result;
use crate::ids::{BatchId, PersonId, ReviewId};
use crate::release::entry::RecordsReviewed;
use crate::release::entry::judge::Reviewed;
use crate::release::entry::review::Reviewing;

impl Project for RecordsReviewed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO review (id, batch, upto, alone, note, seq) VALUES ($1, $2, $3, $4, $5, $6)",
            self.review.0,
            self.batch.0,
            self.upto as Seq,
            self.alone,
            self.note,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE review SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

/// How the review of a batch stands, and which one stands.
pub async fn reviewed(db: &mut PgConnection, batch: BatchId) -> Result<(Reviewed, Option<ReviewId>)> {
    let row = query!(
        r#"SELECT r.id AS "id: ReviewId", r.seq AS "seq: Seq", r.upto AS "upto: Seq", r.alone,
                  coalesce(w.initials, '') AS "initials!",
                  evidence_changed_by(r.batch, r.upto) AS "changed_by: Seq"
           FROM review r JOIN entry e ON e.seq = r.seq LEFT JOIN signer w ON w.id = e.person
           WHERE r.batch = $1 AND r.struck_by IS NULL ORDER BY r.seq DESC LIMIT 1"#,
        batch.0
    )
    .fetch_optional(db)
    .await?;
    let Some(row) = row else { return Ok((Reviewed::Never, None)) };
    Ok(if let Some(changed_by) = row.changed_by {
        (Reviewed::Stale { seq: row.seq, changed_by }, None)
    } else {
        let stands =
            Reviewed::Stands { seq: row.seq, upto: row.upto, initials: row.initials, alone: row.alone };
        (stands, Some(row.id))
    })
}

/// Who made the records of a batch, and how many people can sign here. A release and a review are no records of it.
pub async fn makers(db: &mut PgConnection, batch: BatchId, reviewer: PersonId) -> Result<Reviewing> {
    let made_by = query_scalar!(
        r#"SELECT DISTINCT e.person AS "person!: PersonId" FROM lines_of_batch($1) AS l(seq)
           JOIN entry e ON e.seq = l.seq
           WHERE e.kind NOT IN ('records.reviewed', 'pieces.released', 'lot.packed', 'lots.dispatched')"#,
        batch.0
    )
    .fetch_all(&mut *db)
    .await?;
    let people = query_scalar!(
        r#"SELECT count(*) AS "count!" FROM person WHERE retired_by IS NULL AND roles <> '{inspector}'"#
    )
    .fetch_one(db)
    .await?;
    Ok(Reviewing { reviewer, made_by, people })
}

/// Every line about a batch, its mix and its pieces, in the order of the book.
pub async fn record(db: &mut PgConnection, batch: BatchId) -> Result<Vec<book::db::Read>> {
    let seqs = query_scalar!(
        r#"SELECT l.seq AS "seq!: Seq" FROM lines_of_batch($1) AS l(seq) ORDER BY l.seq"#,
        batch.0
    )
    .fetch_all(&mut *db)
    .await?;
    book::db::these(db, &seqs).await
}
