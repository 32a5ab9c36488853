//! What is recorded of a piece beyond its weights: its batch, what went in, its cure, its stages, its deviations.

use sqlx::{PgConnection, query_as};
use time::OffsetDateTime;

use crate::error::Result;
use crate::ids::{BatchId, LotId, RecipeId};
use crate::measure::{Grams, LotCode};

/// The batch of a piece.
pub struct Batch {
    pub id: BatchId,
    pub code: LotCode,
    pub recipe: RecipeId,
    pub recipe_name: String,
    pub version: i32,
    pub begun_at: OffsetDateTime,
}

pub async fn batch(db: &mut PgConnection, id: BatchId) -> Result<Option<Batch>> {
    let row = query_as!(
        Batch,
        r#"SELECT b.id AS "id: BatchId", b.code AS "code: LotCode", b.recipe AS "recipe: RecipeId",
                  r.name AS recipe_name, b.version, b.begun_at
           FROM batch b JOIN recipe r ON r.id = b.recipe WHERE b.id = $1 AND b.struck_by IS NULL"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// Something that went into a batch.
pub struct Went {
    pub item_name: String,
    pub lot: Option<LotId>,
    pub code: Option<LotCode>,
    pub grams: Grams,
    /// Whether it is meat that became this very piece, not a share of the whole batch.
    pub own: bool,
}

/// What went into the batch of a piece: its own muscle, or the meat of the mix; then every ingredient, by weight.
pub async fn went_in(db: &mut PgConnection, batch: BatchId, piece: LotId) -> Result<Vec<Went>> {
    let rows = query_as!(
        Went,
        r#"SELECT l.item_name AS "item_name!", l.id AS "lot?: LotId", l.code AS "code?: LotCode",
                  sum(m.grams) AS "grams!: Grams", m.piece IS NOT NULL AS "own!"
           FROM batch_meat m JOIN lot l ON l.id = m.lot
           WHERE m.batch = $1 AND m.struck_by IS NULL AND (m.piece IS NULL OR m.piece = $2)
           GROUP BY l.id, m.piece
           UNION ALL
           SELECT i.name, l.id, l.code, sum(g.grams), false
           FROM batch_ingredient g JOIN item i ON i.id = g.item LEFT JOIN lot l ON l.id = g.lot
           WHERE g.batch = $1 AND g.struck_by IS NULL
           GROUP BY i.name, l.id
           ORDER BY 5 DESC, 4 DESC, 1"#,
        batch.0,
        piece.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A cure of the recipe, and what of it was weighed in.
pub struct Cure {
    pub item_name: String,
    /// `None` until it is weighed.
    pub grams: Option<Grams>,
    pub code: Option<LotCode>,
    pub at: Option<OffsetDateTime>,
    pub initials: Option<String>,
    pub within: Option<bool>,
    pub reason: Option<String>,
}

/// The lines of the recipe that are a cure, each with its last weighing that stands.
pub async fn cures(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Cure>> {
    let rows = query_as!(
        Cure,
        r#"SELECT i.name AS item_name, w.grams AS "grams?: Grams", w.code AS "code?: LotCode", w.happened_at AS "at?",
                  w.initials AS "initials?", w.within AS "within?", w.reason AS "reason?"
           FROM batch b
           JOIN recipe_line n ON n.recipe = b.recipe AND n.version = b.version AND n.role = 'cure'
           JOIN item i ON i.id = n.item
           LEFT JOIN LATERAL (
               SELECT g.grams, l.code, e.happened_at, s.initials, g.verdict = 'within' AS within, g.reason
               FROM batch_ingredient g JOIN entry e ON e.seq = g.seq LEFT JOIN signer s ON s.id = e.person
               LEFT JOIN lot l ON l.id = g.lot
               WHERE g.batch = b.id AND g.line = n.n AND g.struck_by IS NULL ORDER BY g.seq DESC LIMIT 1) w ON true
           WHERE b.id = $1 ORDER BY n.n"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A stage that the batch is in or has been through.
pub struct Stage {
    pub stage: String,
    pub place_name: Option<String>,
    pub at: OffsetDateTime,
    /// Hours that the recipe asks for; none where it does not name this stage.
    pub hours: Option<i32>,
}

/// The stages of a batch that stand, the first one first.
pub async fn stages(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Stage>> {
    let rows = query_as!(
        Stage,
        r#"SELECT s.stage, p.name AS "place_name?", s.at,
                  (SELECT max(t.hours) FROM recipe_step t
                   WHERE t.recipe = b.recipe AND t.version = b.version AND t.stage = s.stage) AS hours
           FROM batch_stage s JOIN batch b ON b.id = s.batch LEFT JOIN place p ON p.id = s.place
           WHERE s.batch = $1 AND s.struck_by IS NULL ORDER BY s.at, s.seq"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}
