//! All SQL of the page of a lot.

mod came;
mod piece;

pub use came::{Became, Source, became, came_from};
pub use piece::{Cure, Stage, Went, batch, cures, stages, went_in};

use sqlx::{PgConnection, query, query_scalar};

use crate::error::Result;
use crate::ids::{BatchId, BreakdownId, LotId, PlaceId};

/// The name of a place, in use or not, with that of what it is in: `chamber 2, rail B`.
pub async fn place_name(db: &mut PgConnection, place: PlaceId) -> Result<Option<String>> {
    let row = query!(
        r#"SELECT p.name, q.name AS "within?" FROM place p LEFT JOIN place q ON q.id = p.within WHERE p.id = $1"#,
        place.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| match row.within {
        Some(within) => format!("{within}, {}", row.name),
        None => row.name,
    }))
}

/// The batch that a mix is the mix of.
pub async fn batch_of_mix(db: &mut PgConnection, mix: LotId) -> Result<Option<BatchId>> {
    let batch =
        query_scalar!(r#"SELECT id AS "id: BatchId" FROM batch WHERE mix = $1 AND struck_by IS NULL"#, mix.0);
    Ok(batch.fetch_optional(db).await?)
}

/// A breakdown of a lot.
pub struct Breakdown {
    pub id: BreakdownId,
    pub closed: bool,
}

/// The breakdowns of a lot, the latest first.
pub async fn breakdowns(db: &mut PgConnection, lot: LotId) -> Result<Vec<Breakdown>> {
    let rows = sqlx::query_as!(
        Breakdown,
        r#"SELECT id AS "id: BreakdownId", closed_by IS NOT NULL AS "closed!" FROM breakdown
           WHERE lot = $1 AND struck_by IS NULL ORDER BY opened_at DESC, seq DESC"#,
        lot.0
    );
    Ok(rows.fetch_all(db).await?)
}
