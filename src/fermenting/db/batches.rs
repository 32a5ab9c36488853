//! Which batches ferment, and which of them something that was signed has to do with.

use sqlx::{PgConnection, query, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::error::Result;
use crate::ids::{BatchId, LotId, PlaceId};
use crate::measure::Ph;
use crate::standards::degree_hours::PH_END;
use crate::web::Touched;
use crate::web::parts::Choice;

/// Batches of recipes that ferment, stuffed and not released, that have no pH of 5.3 or less yet: the count goes on.
pub async fn counting(db: &mut PgConnection) -> Result<Vec<BatchId>> {
    let ids = query_scalar!(
        r#"SELECT b.id AS "id: BatchId"
           FROM batch b JOIN recipe_version v ON v.recipe = b.recipe AND v.version = b.version
                JOIN (SELECT s.batch, min(e.happened_at) AS at FROM batch_stuffed s JOIN entry e ON e.seq = s.seq
                      WHERE s.struck_by IS NULL GROUP BY s.batch) st ON st.batch = b.id
           WHERE b.struck_by IS NULL AND b.stage <> 'released' AND v.kind = 'ground and fermented'
             AND EXISTS (SELECT 1 FROM piece p JOIN lot l ON l.id = p.lot
                         WHERE p.batch = b.id AND p.struck_by IS NULL AND l.grams > 0)
             AND NOT EXISTS (
                 SELECT 1 FROM reading r
                 WHERE r.quantity = 'ph' AND r.struck_by IS NULL AND r.value <= $1 AND r.at >= st.at
                   AND (r.batch = b.id OR r.lot = b.mix
                        OR r.lot IN (SELECT p.lot FROM piece p WHERE p.batch = b.id AND p.struck_by IS NULL)))
           ORDER BY b.code"#,
        Ph::decimal(PH_END)
    );
    Ok(ids.fetch_all(db).await?)
}

/// The fermenting batches, stuffed and not released, that what was signed has to do with: the batch itself, the batch of
/// the lot, or each of which a piece stood in the place or within it. A reading of a
/// place has nothing to do with one whose count ended before `met_before`.
pub async fn touched(
    db: &mut PgConnection,
    touched: Touched,
    met_before: OffsetDateTime,
) -> Result<Vec<BatchId>> {
    let (place, lot, batch): (Option<Uuid>, Option<Uuid>, Option<Uuid>) = match touched {
        Touched::Place(place) => (Some(place.0), None, None),
        Touched::Lot(lot) => (None, Some(lot.0), None),
        Touched::Batch(batch) => (None, None, Some(batch.0)),
        Touched::Struck(_) => return Ok(Vec::new()),
    };
    let ids = query_scalar!(
        r#"WITH RECURSIVE inside AS (
               SELECT id FROM place WHERE id = $1
               UNION SELECT p.id FROM place p JOIN inside i ON p.within = i.id
           )
           SELECT b.id AS "id: BatchId"
           FROM batch b JOIN recipe_version v ON v.recipe = b.recipe AND v.version = b.version
           WHERE b.struck_by IS NULL AND b.stage <> 'released' AND v.kind = 'ground and fermented'
             AND EXISTS (SELECT 1 FROM batch_stuffed s WHERE s.batch = b.id AND s.struck_by IS NULL)
             AND (b.id = $3 OR b.mix = $2
                  OR EXISTS (SELECT 1 FROM piece p WHERE p.batch = b.id AND p.struck_by IS NULL AND p.lot = $2)
                  OR EXISTS (SELECT 1 FROM piece p JOIN put u ON u.lot = p.lot JOIN inside i ON i.id = u.place
                             WHERE p.batch = b.id AND p.struck_by IS NULL))
             AND ($1::uuid IS NULL OR NOT EXISTS (
                 SELECT 1 FROM fermentation_judged j
                 WHERE j.batch = b.id AND j.struck_by IS NULL AND j.outcome = 'met' AND j.until < $4))
           ORDER BY b.code"#,
        place,
        lot,
        batch,
        met_before
    );
    Ok(ids.fetch_all(db).await?)
}

/// What a pH of a batch can be measured on: the batch as a whole, or one of its pieces that still weighs something.
pub async fn subjects(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Choice>> {
    let rows = query!(
        r#"SELECT l.id AS "id: LotId", l.code FROM piece p JOIN lot l ON l.id = p.lot
           WHERE p.batch = $1 AND p.struck_by IS NULL AND l.grams > 0
           ORDER BY l.code_day, l.code_number, l.code_piece"#,
        batch.0
    )
    .fetch_all(db)
    .await?;
    let whole = std::iter::once(Choice::new(batch, "the batch"));
    Ok(whole.chain(rows.into_iter().map(|row| Choice::new(row.id, format!("piece {}", row.code)))).collect())
}

/// Where most of the pieces of a batch stood at a moment.
pub async fn stood_in(db: &mut PgConnection, batch: BatchId, at: OffsetDateTime) -> Result<Option<PlaceId>> {
    let place = query_scalar!(
        r#"SELECT s.place AS "place: PlaceId"
           FROM (SELECT DISTINCT ON (u.lot) u.lot, u.place
                 FROM piece p JOIN put u ON u.lot = p.lot JOIN entry e ON e.seq = u.seq
                 WHERE p.batch = $1 AND p.struck_by IS NULL AND e.happened_at <= $2
                   AND NOT EXISTS (SELECT 1 FROM strike k WHERE k.seq = u.seq)
                 ORDER BY u.lot, e.happened_at DESC, u.seq DESC) s
           GROUP BY s.place ORDER BY count(*) DESC, s.place LIMIT 1"#,
        batch.0,
        at
    );
    Ok(place.fetch_optional(db).await?)
}
