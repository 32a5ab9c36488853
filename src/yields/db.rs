//! SQL of closed breakdowns over a span.

use sqlx::{PgConnection, query_as};
use time::OffsetDateTime;
use uuid::Uuid;

use super::compare::{Broken, CutOf};
use crate::error::Result;
use crate::ids::{BreakdownId, ItemId, LotId};
use crate::measure::{Grams, LotCode};

/// What was broken down and closed from one moment up to another, of one sort of source or of all.
pub async fn broken(
    db: &mut PgConnection,
    from: OffsetDateTime,
    to: OffsetDateTime,
    item: Option<ItemId>,
) -> Result<Vec<Broken>> {
    let rows = query_as!(
        Broken,
        r#"SELECT b.id AS "id: BreakdownId", b.lot AS "lot: LotId", l.code AS "code: LotCode", l.item_name,
                  b.closed_at AS "closed_at!", b.taken_in AS "taken_in: Grams", b.loss AS "loss!: Grams",
                  coalesce((SELECT sum(w.found) FROM reweighing w WHERE w.breakdown = b.id AND w.struck_by IS NULL), 0)
                      AS "found!: Grams",
                  coalesce(s.name, '') AS "supplier!", coalesce(r.breed, '') AS "breed!",
                  coalesce((SELECT g.name FROM cut c JOIN entry e ON e.seq = c.seq JOIN signer g ON g.id = e.person
                            WHERE c.breakdown = b.id AND c.struck_by IS NULL
                            GROUP BY g.id, g.name ORDER BY sum(c.grams) DESC, g.name LIMIT 1), '') AS "cutter!"
           FROM breakdown b JOIN lot l ON l.id = b.lot
           LEFT JOIN lot root ON root.code_day = l.code_day AND root.code_number = l.code_number
                             AND root.code_piece IS NULL
           LEFT JOIN received r ON r.lot = root.id AND r.struck_by IS NULL
           LEFT JOIN supplier s ON s.id = r.supplier
           WHERE b.closed_by IS NOT NULL AND b.struck_by IS NULL AND b.closed_at >= $1 AND b.closed_at < $2
             AND ($3::uuid IS NULL OR l.item = $3)
           ORDER BY b.closed_at"#,
        from,
        to,
        item.map(|item| item.0)
    );
    Ok(rows.fetch_all(db).await?)
}

/// The cuts of these breakdowns that stand.
pub async fn cuts(db: &mut PgConnection, of: &[Broken]) -> Result<Vec<CutOf>> {
    let ids: Vec<Uuid> = of.iter().map(|broken| broken.id.0).collect();
    let rows = query_as!(
        CutOf,
        r#"SELECT c.breakdown AS "breakdown: BreakdownId", c.item AS "item: ItemId", i.name AS item_name,
                  c.grams AS "grams: Grams", c.lot AS "lot: LotId"
           FROM cut c JOIN item i ON i.id = c.item
           WHERE c.breakdown = ANY($1) AND c.struck_by IS NULL ORDER BY c.seq"#,
        &ids
    );
    Ok(rows.fetch_all(db).await?)
}

/// A sort of source that was broken down.
pub struct Sort {
    pub item: ItemId,
    pub name: String,
}

/// The sorts of source that were broken down, the most often first.
pub async fn sorts(db: &mut PgConnection) -> Result<Vec<Sort>> {
    let rows = query_as!(
        Sort,
        r#"SELECT l.item AS "item: ItemId", max(l.item_name) AS "name!"
           FROM breakdown b JOIN lot l ON l.id = b.lot
           WHERE b.closed_by IS NOT NULL AND b.struck_by IS NULL
           GROUP BY l.item ORDER BY count(*) DESC, 2"#
    );
    Ok(rows.fetch_all(db).await?)
}
