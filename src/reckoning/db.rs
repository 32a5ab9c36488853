//! What a batch's page needs for the days of its cure and the weight after it.

use sqlx::{PgConnection, query_as};

use crate::error::Result;
use crate::ids::{BatchId, LotId};
use crate::measure::{Grams, LotCode};
use crate::recipes::RecipeKind;

/// One piece of a batch.
pub struct Cured {
    pub lot: LotId,
    pub code: LotCode,
    pub kind: RecipeKind,
    /// Hours of all curing steps of the recipe; none where it has no such step.
    pub hours: Option<i64>,
    pub green: Grams,
    /// What was laid on it.
    pub cure: Grams,
    /// The first weighing after it was laid on.
    pub weighed: Option<Grams>,
}

/// The pieces of a batch, by code.
pub async fn cured(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Cured>> {
    let rows = query_as!(
        Cured,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", v.kind AS "kind: RecipeKind",
                  (SELECT sum(s.hours) FROM recipe_step s WHERE s.recipe = b.recipe AND s.version = b.version
                          AND s.stage = 'curing') AS hours,
                  c.green AS "green: Grams",
                  coalesce(laid.grams, 0) AS "cure!: Grams",
                  (SELECT w.grams FROM weigh_in w WHERE w.lot = c.lot AND w.struck_by IS NULL AND w.seq > laid.seq
                   ORDER BY w.at, w.seq LIMIT 1) AS "weighed: Grams"
           FROM batch b JOIN recipe_version v ON v.recipe = b.recipe AND v.version = b.version
                JOIN piece c ON c.batch = b.id AND c.struck_by IS NULL
                JOIN lot l ON l.id = c.lot
                LEFT JOIN LATERAL (
                    SELECT sum(m.grams) AS grams, max(a.seq) AS seq
                    FROM batch_applied a JOIN movement m ON m.seq = a.seq AND m.lot = c.lot
                    WHERE a.batch = b.id AND a.struck_by IS NULL) laid ON true
           WHERE b.id = $1
           ORDER BY l.code"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}
