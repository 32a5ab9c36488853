//! Cures that were too warm: what is written of them, the deviations that concern a batch, and which batches a reading is about.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::{Project, Seq, Written};
use crate::cold::entry::ColdExceeded;
use crate::deviations::{self, On};
use crate::error::Result;
use crate::ids::{BatchId, DeviationId, Named, PlaceId};
use crate::web::Touched;

impl Project for ColdExceeded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO cold_exceeded (seq, deviation, batch, place, since) VALUES ($1, $2, $3, $4, $5)",
            at.seq as Seq,
            self.opened.deviation.0,
            self.batch.id.0,
            self.place.id.0,
            self.from
        )
        .execute(&mut *db)
        .await?;
        deviations::open(db, &self.opened, On::Batch(self.batch.id), at).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        deviations::unopen(db, at, by).await
    }
}

/// A deviation of temperature of a place that concerns a batch's mix or any of its pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warmed {
    pub deviation: DeviationId,
    /// The place that it is on, and those within it.
    pub places: Vec<PlaceId>,
    /// When it was too warm.
    pub at: OffsetDateTime,
}

/// The deviations of temperature that concern a batch, the first first: those that a check opened on its place, and those of the
/// time that its cure was above the limit.
pub async fn warmed(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Warmed>> {
    let rows = query_as!(
        Warmed,
        r#"SELECT d.id AS "deviation!: DeviationId", coalesce(x.since, d.opened_at) AS "at!",
                  ARRAY(SELECT p.id FROM place p WHERE p.id = coalesce(x.place, d.place)
                        OR p.within = coalesce(x.place, d.place) ORDER BY p.id) AS "places!: Vec<PlaceId>"
           FROM deviation d
           LEFT JOIN reading r ON r.seq = d.seq AND r.quantity = 'temperature' AND d.place IS NOT NULL
           LEFT JOIN cold_exceeded x ON x.deviation = d.id
           WHERE d.struck_by IS NULL AND (x.batch = $1 OR (r.seq IS NOT NULL
             AND EXISTS (SELECT 1 FROM deviation_lot n JOIN batch b ON b.id = $1
                         LEFT JOIN piece p ON p.lot = n.lot AND p.batch = b.id
                         WHERE n.deviation = d.id AND (n.lot = b.mix OR p.lot IS NOT NULL))))
           ORDER BY 2, d.seq"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A batch by its code; nothing where none stands.
pub async fn batch_named(db: &mut PgConnection, batch: BatchId) -> Result<Option<Named<BatchId>>> {
    let code = query_scalar!("SELECT code FROM batch WHERE id = $1 AND struck_by IS NULL", batch.0)
        .fetch_optional(db)
        .await?;
    Ok(code.map(|code| Named::new(batch, code)))
}

/// The batches that are not released and whose cure stood in the place that was read, or stands in the stage that was signed.
/// One whose cure ended before `ended_before` has nothing to do with a reading of now.
pub async fn touched(
    db: &mut PgConnection,
    touched: Touched,
    ended_before: OffsetDateTime,
) -> Result<Vec<BatchId>> {
    let (place, batch): (Option<Uuid>, Option<Uuid>) = match touched {
        Touched::Place(place) => (Some(place.0), None),
        Touched::Batch(batch) => (None, Some(batch.0)),
        Touched::Lot(_) | Touched::Struck(_) => return Ok(Vec::new()),
    };
    let ids = query_scalar!(
        r#"SELECT DISTINCT b.id AS "id: BatchId"
           FROM (SELECT s.batch, s.stage, s.place, lead(s.at) OVER (PARTITION BY s.batch ORDER BY s.at, s.seq) AS next
                 FROM batch_stage s WHERE s.struck_by IS NULL) c
           JOIN batch b ON b.id = c.batch AND b.struck_by IS NULL AND b.stage <> 'released'
           JOIN place p ON p.id = c.place
           WHERE c.stage = 'curing' AND (b.id = $2 OR $1 IN (p.id, p.within)) AND (c.next IS NULL OR c.next >= $3)
           ORDER BY 1"#,
        place,
        batch,
        ended_before
    );
    Ok(ids.fetch_all(db).await?)
}
