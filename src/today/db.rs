//! SQL of what waits and belongs to no page that could be asked: open breakdowns, stages that are over, ingredients near the
//! end of their time.

use sqlx::{PgConnection, query_as, query_scalar};
use time::{Date, OffsetDateTime};

use crate::error::Result;
use crate::ids::{BatchId, BreakdownId, LotId};
use crate::measure::{Grams, LotCode};

/// Whether anything was ever taken in.
pub async fn anything(db: &mut PgConnection) -> Result<bool> {
    Ok(query_scalar!(r#"SELECT EXISTS (SELECT 1 FROM lot) AS "any!""#).fetch_one(db).await?)
}

/// A breakdown that nobody has closed.
pub struct OpenBreakdown {
    pub id: BreakdownId,
    pub code: LotCode,
    pub item_name: String,
    pub left: Grams,
    pub opened_at: OffsetDateTime,
}

pub async fn open_breakdowns(db: &mut PgConnection) -> Result<Vec<OpenBreakdown>> {
    let rows = query_as!(
        OpenBreakdown,
        r#"SELECT b.id AS "id: BreakdownId", l.code AS "code: LotCode", l.item_name, l.grams AS "left: Grams", b.opened_at
           FROM breakdown b JOIN lot l ON l.id = b.lot
           WHERE b.closed_by IS NULL AND b.struck_by IS NULL ORDER BY b.opened_at"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// A batch whose stage has lasted as long as its recipe asks.
pub struct StageOver {
    pub id: BatchId,
    pub code: LotCode,
    pub product: String,
    pub stage: String,
    pub place_name: Option<String>,
    pub since: OffsetDateTime,
    pub over_at: OffsetDateTime,
    /// What comes next in the recipe; none after its last step.
    pub next: Option<String>,
}

/// Stages that are over before a moment, the longest over first. A batch whose pieces have all left waits for nothing.
pub async fn stages_over(db: &mut PgConnection, before: OffsetDateTime) -> Result<Vec<StageOver>> {
    let rows = query_as!(
        StageOver,
        r#"SELECT b.id AS "id: BatchId", b.code AS "code: LotCode", i.name AS product, b.stage, p.name AS "place_name?",
                  b.stage_at AS since, b.stage_at + make_interval(hours => s.hours) AS "over_at!",
                  (SELECT n.stage FROM recipe_step n
                   WHERE n.recipe = b.recipe AND n.version = b.version AND n.n > s.n ORDER BY n.n LIMIT 1) AS next
           FROM batch b
           JOIN item i ON i.id = b.product
           JOIN LATERAL (SELECT t.n, t.hours FROM recipe_step t
                         WHERE t.recipe = b.recipe AND t.version = b.version AND t.stage = b.stage
                         ORDER BY t.n DESC LIMIT 1) s ON true
           LEFT JOIN place p ON p.id = b.stage_place
           WHERE b.struck_by IS NULL AND b.stage <> 'released'
             AND b.stage_at + make_interval(hours => s.hours) <= $1
             AND EXISTS (SELECT 1 FROM piece c JOIN lot l ON l.id = c.lot
                         WHERE c.batch = b.id AND c.struck_by IS NULL AND c.released_by IS NULL AND l.grams > 0)
           ORDER BY 7"#,
        before
    );
    Ok(rows.fetch_all(db).await?)
}

/// An ingredient that will not keep for long.
pub struct Ending {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub grams: Grams,
    pub best_before: Date,
    pub place_name: Option<String>,
}

/// Ingredients and casings on hand whose best-before is no later than a day, the nearest first.
pub async fn ending(db: &mut PgConnection, until: Date) -> Result<Vec<Ending>> {
    let rows = query_as!(
        Ending,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.grams AS "grams: Grams",
                  r.best_before AS "best_before!", p.name AS "place_name?"
           FROM received r JOIN lot l ON l.id = r.lot LEFT JOIN place p ON p.id = l.place
           WHERE r.best_before <= $1 AND r.struck_by IS NULL AND l.grams > 0 AND l.form IN ('ingredient', 'casing')
           ORDER BY r.best_before, l.code_day, l.code_number"#,
        until
    );
    Ok(rows.fetch_all(db).await?)
}
