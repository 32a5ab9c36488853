//! What a packet can be of: batches, lots and places by their names.

use sqlx::{PgConnection, query_as, query_scalar};
use time::OffsetDateTime;

use crate::error::Result;
use crate::ids::{BatchId, LotId, PlaceId};

/// A batch as a packet names it.
#[derive(Debug, Clone)]
pub struct BatchNamed {
    pub id: BatchId,
    pub code: String,
    pub product: String,
    pub recipe: String,
    pub version: i32,
    pub mix: LotId,
    pub begun_at: OffsetDateTime,
    pub struck: bool,
}

/// The latest batches, or the one that is asked for.
pub async fn batches(db: &mut PgConnection, only: Option<BatchId>, limit: i64) -> Result<Vec<BatchNamed>> {
    let rows = query_as!(
        BatchNamed,
        r#"SELECT b.id AS "id: BatchId", b.code, i.name AS product, r.name AS recipe, b.version, b.mix AS "mix: LotId",
                  b.begun_at, b.struck_by IS NOT NULL AS "struck!"
           FROM batch b JOIN item i ON i.id = b.product JOIN recipe r ON r.id = b.recipe
           WHERE $1::uuid IS NULL OR b.id = $1 ORDER BY b.begun_at DESC, b.code DESC LIMIT $2"#,
        only.map(|id| id.0),
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot as a packet names it, and the batch that it is of, where it is of one.
#[derive(Debug, Clone)]
pub struct LotNamed {
    pub id: LotId,
    pub code: String,
    pub item: String,
    pub batch: Option<BatchId>,
    pub opened_at: OffsetDateTime,
}

pub async fn lot(db: &mut PgConnection, id: LotId) -> Result<Option<LotNamed>> {
    let row = query_as!(
        LotNamed,
        r#"SELECT l.id AS "id: LotId", l.code, l.item_name AS item, l.opened_at,
                  coalesce(p.batch, b.id) AS "batch: BatchId"
           FROM lot l LEFT JOIN piece p ON p.lot = l.id LEFT JOIN batch b ON b.mix = l.id WHERE l.id = $1"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// The mix of a batch and its pieces, also those that were struck.
pub async fn lots_of(db: &mut PgConnection, batch: BatchId) -> Result<Vec<LotId>> {
    let lots = query_scalar!(
        r#"SELECT mix AS "lot!: LotId" FROM batch WHERE id = $1 UNION SELECT lot FROM piece WHERE batch = $1"#,
        batch.0
    );
    Ok(lots.fetch_all(db).await?)
}

/// The places, in the order of their names.
pub async fn places(db: &mut PgConnection) -> Result<Vec<(PlaceId, String)>> {
    let rows = sqlx::query!(r#"SELECT id AS "id: PlaceId", name FROM place ORDER BY lower(name)"#);
    Ok(rows.fetch_all(db).await?.into_iter().map(|row| (row.id, row.name)).collect())
}

pub async fn place_name(db: &mut PgConnection, place: PlaceId) -> Result<Option<String>> {
    Ok(query_scalar!("SELECT name FROM place WHERE id = $1", place.0).fetch_optional(db).await?)
}

/// The batch whose mix a lot is.
pub async fn batch_of_mix(db: &mut PgConnection, lot: LotId) -> Result<Option<BatchId>> {
    let batch = query_scalar!(r#"SELECT id AS "id: BatchId" FROM batch WHERE mix = $1"#, lot.0);
    Ok(batch.fetch_optional(db).await?)
}
