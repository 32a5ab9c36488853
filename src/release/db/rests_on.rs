//! The releases that rested on a line of the book.

use sqlx::{PgConnection, query};

use crate::book::{Project, Seq, Written};
use crate::deviations::{self, On};
use crate::error::Result;
use crate::ids::{BatchId, LotId, Named};
use crate::release::entry::{EvidenceStruck, Rested};

impl Project for EvidenceStruck {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        deviations::open(db, &self.opened, On::Batch(self.batch.id), at).await
    }
}

/// The releases that stand and rested on this line, each with the pieces that went by it and the criteria that it showed.
pub async fn resting_on(db: &mut PgConnection, line: Seq) -> Result<Vec<Rested>> {
    let rows = query!(
        r#"SELECT r.seq AS "seq: Seq", b.id AS "batch: BatchId", b.code AS batch_code, l.id AS "lot: LotId", l.code,
                  r.criterion
           FROM rests_on r JOIN piece p ON p.lot = r.lot AND p.released_by = r.seq
           JOIN batch b ON b.id = p.batch JOIN lot l ON l.id = r.lot
           WHERE r.entry = $1 ORDER BY r.seq, l.code_day, l.code_number, l.code_piece, r.criterion"#,
        line as Seq
    )
    .fetch_all(db)
    .await?;
    let mut all: Vec<Rested> = Vec::new();
    for row in rows {
        if all.last().is_none_or(|last| last.release != row.seq) {
            let batch = Named::new(row.batch, row.batch_code);
            all.push(Rested { batch, release: row.seq, pieces: vec![], criteria: vec![] });
        }
        let Some(rested) = all.last_mut() else { continue };
        if rested.pieces.last().is_none_or(|last| last.id != row.lot) {
            rested.pieces.push(Named::new(row.lot, row.code));
        }
        if !rested.criteria.contains(&row.criterion) {
            rested.criteria.push(row.criterion);
        }
    }
    Ok(all)
}
