//! What a breakdown is held against: the source that its own source was cut from, and other sources.

use std::collections::BTreeMap;

use sqlx::{PgConnection, query, query_as};

use crate::error::Result;
use crate::ids::{BreakdownId, ItemId, LotId, SupplierId};
use crate::measure::{Grams, LotCode};

/// The breakdown that gave this source.
pub struct Parent {
    pub breakdown: BreakdownId,
    pub code: LotCode,
    pub item_name: String,
    pub taken_in: Grams,
}

/// The breakdown that gave this lot; `None` for what came through the door.
pub async fn parent(db: &mut PgConnection, lot: LotId) -> Result<Option<Parent>> {
    let row = query_as!(
        Parent,
        r#"SELECT b.id AS "breakdown: BreakdownId", l.code AS "code: LotCode", l.item_name,
                  b.taken_in AS "taken_in: Grams"
           FROM cut c JOIN breakdown b ON b.id = c.breakdown JOIN lot l ON l.id = b.lot
           WHERE c.lot = $1 AND c.struck_by IS NULL"#,
        lot.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// What closed breakdowns of one sort of source gave, together.
#[derive(Debug, Default)]
pub struct Average {
    pub sources: i64,
    pub taken_in: Grams,
    pub loss: Grams,
    pub cuts: BTreeMap<ItemId, Grams>,
}

/// What other closed breakdowns of the same sort of source gave, of one supplier or of all, `but` for this one.
pub async fn usual(
    db: &mut PgConnection,
    source: ItemId,
    supplier: Option<SupplierId>,
    but: BreakdownId,
) -> Result<Average> {
    let rows = query!(
        r#"WITH other AS (
               SELECT b.id, b.taken_in, b.loss
               FROM breakdown b JOIN lot l ON l.id = b.lot
               LEFT JOIN lot root ON root.code_day = l.code_day AND root.code_number = l.code_number
                                 AND root.code_piece IS NULL
               LEFT JOIN received r ON r.lot = root.id AND r.struck_by IS NULL
               WHERE l.item = $1 AND b.id <> $3 AND b.closed_by IS NOT NULL AND b.struck_by IS NULL
                 AND ($2::uuid IS NULL OR r.supplier = $2)
           )
           SELECT NULL::uuid AS "item: ItemId", count(*) AS "sources!", coalesce(sum(taken_in), 0) AS "grams!: Grams",
                  coalesce(sum(loss), 0) AS "loss!: Grams"
           FROM other
           UNION ALL
           SELECT c.item, 0, sum(c.grams), 0
           FROM other o JOIN cut c ON c.breakdown = o.id AND c.struck_by IS NULL GROUP BY c.item"#,
        source.0,
        supplier.map(|supplier| supplier.0),
        but.0
    )
    .fetch_all(db)
    .await?;
    let mut average = Average::default();
    for row in rows {
        if let Some(item) = row.item {
            average.cuts.insert(item, row.grams);
        } else {
            average.sources = row.sources;
            average.taken_in = row.grams;
            average.loss = row.loss;
        }
    }
    Ok(average)
}
