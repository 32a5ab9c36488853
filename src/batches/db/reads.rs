//! What the pages read of batches. Names of lots, places and signers are joined here: a query for each would be one for
//! each row of a page.

use sqlx::{PgConnection, query_as, query_scalar};
use time::OffsetDateTime;

use crate::batches::entry::Verdict;
use crate::book::{Form, Seq};
use crate::error::Result;
use crate::ids::{BatchId, ItemId, LotId, PlaceId};
use crate::measure::{Grams, LotCode};
use crate::recipes::Stage;
use crate::web::ledger::LookedOver;

/// A batch as the list of them shows it.
pub struct Listed {
    pub id: BatchId,
    pub code: LotCode,
    pub product_name: String,
    pub recipe_name: String,
    pub version: i32,
    pub stage: Stage,
    pub stage_at: OffsetDateTime,
    pub place: Option<PlaceId>,
    pub place_name: Option<String>,
    pub pieces: i64,
    /// Whether pieces of it are here and not released.
    pub waiting: bool,
    pub grams: Grams,
    /// The recipe's steps and their hours, and the stages that were signed.
    pub steps: Vec<Stage>,
    pub hours: Vec<i32>,
    pub stages: Vec<Stage>,
}

/// Batches that are not released, and the latest `limit` that are; the oldest stage first.
pub async fn listed(db: &mut PgConnection, limit: i64) -> Result<Vec<Listed>> {
    let rows = query_as!(
        Listed,
        r#"WITH shown AS (
               (SELECT * FROM batch WHERE struck_by IS NULL AND stage <> 'released')
               UNION ALL
               (SELECT * FROM batch WHERE struck_by IS NULL AND stage = 'released' ORDER BY stage_at DESC LIMIT $1))
           SELECT b.id AS "id!: BatchId", b.code AS "code!: LotCode", i.name AS product_name, r.name AS recipe_name,
                  b.version AS "version!", b.stage AS "stage!: Stage", b.stage_at AS "stage_at!",
                  b.stage_place AS "place: PlaceId", p.name AS "place_name?",
                  (SELECT count(*) FROM piece c WHERE c.batch = b.id AND c.struck_by IS NULL) AS "pieces!",
                  EXISTS (SELECT 1 FROM piece c JOIN lot l ON l.id = c.lot WHERE c.batch = b.id
                          AND c.struck_by IS NULL AND c.released_by IS NULL AND l.grams > 0) AS "waiting!",
                  (SELECT coalesce(sum(l.grams), 0) FROM lot l WHERE l.id = b.mix
                          OR l.id IN (SELECT c.lot FROM piece c WHERE c.batch = b.id AND c.struck_by IS NULL))
                      AS "grams!: Grams",
                  ARRAY(SELECT s.stage FROM recipe_step s WHERE s.recipe = b.recipe AND s.version = b.version
                        ORDER BY s.n) AS "steps!: Vec<Stage>",
                  ARRAY(SELECT s.hours FROM recipe_step s WHERE s.recipe = b.recipe AND s.version = b.version
                        ORDER BY s.n) AS "hours!",
                  ARRAY(SELECT s.stage FROM batch_stage s WHERE s.batch = b.id AND s.struck_by IS NULL
                        AND s.stage <> 'released' ORDER BY s.seq) AS "stages!: Vec<Stage>"
           FROM shown b JOIN item i ON i.id = b.product JOIN recipe r ON r.id = b.recipe
                LEFT JOIN place p ON p.id = b.stage_place
           ORDER BY b.stage_at, b.code"#,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// Raw meat that a batch can take.
pub struct RawLot {
    pub lot: LotId,
    pub code: LotCode,
    pub item: ItemId,
    pub item_name: String,
    pub form: Form,
    pub grams: Grams,
    pub place_name: Option<String>,
}

/// Meat in the shop that holds something, is not held, and does not lie on the block; the oldest first.
pub async fn raw_lots(db: &mut PgConnection) -> Result<Vec<RawLot>> {
    let rows = query_as!(
        RawLot,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item AS "item: ItemId", l.item_name,
                  l.form AS "form: Form", l.grams AS "grams: Grams", p.name AS "place_name?"
           FROM lot l LEFT JOIN place p ON p.id = l.place
           WHERE l.grams > 0 AND l.struck_by IS NULL AND l.form IN ('primal', 'cut', 'trim', 'fat', 'offal')
             AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL)
             AND NOT EXISTS (SELECT 1 FROM breakdown b WHERE b.lot = l.id AND b.closed_by IS NULL
                             AND b.struck_by IS NULL)
           ORDER BY l.code_day, l.code_number, l.code_piece"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// Whether a lot lies on the block at this moment.
pub async fn lies_on_the_block(db: &mut PgConnection, lot: LotId) -> Result<bool> {
    let lies = query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM breakdown WHERE lot = $1 AND closed_by IS NULL AND struck_by IS NULL)
               AS "lies!""#,
        lot.0
    );
    Ok(lies.fetch_one(db).await?)
}

/// Meat that was taken for a batch.
pub struct TakenMeat {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub line: Option<i16>,
    pub grams: Grams,
    pub piece: Option<LotCode>,
    pub initials: Option<String>,
}

/// What stands of the meat of a batch, in the order of the book.
pub async fn meat(db: &mut PgConnection, id: BatchId) -> Result<Vec<TakenMeat>> {
    let rows = query_as!(
        TakenMeat,
        r#"SELECT m.lot AS "lot: LotId", l.code AS "code: LotCode", l.item_name, m.line, m.grams AS "grams: Grams",
                  p.code AS "piece?: LotCode", w.initials AS "initials?"
           FROM batch_meat m JOIN lot l ON l.id = m.lot LEFT JOIN lot p ON p.id = m.piece
                JOIN entry e ON e.seq = m.seq LEFT JOIN signer w ON w.id = e.person
           WHERE m.batch = $1 AND m.struck_by IS NULL ORDER BY m.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// An ingredient that was weighed for a batch.
pub struct WeighedIngredient {
    pub seq: Seq,
    pub line: i16,
    pub lot: Option<LotId>,
    pub code: Option<LotCode>,
    pub grams: Grams,
    pub verdict: Verdict,
    pub reason: String,
    pub initials: Option<String>,
}

/// What stands of the ingredients of a batch, in the order of the book.
pub async fn ingredients(db: &mut PgConnection, id: BatchId) -> Result<Vec<WeighedIngredient>> {
    let rows = query_as!(
        WeighedIngredient,
        r#"SELECT g.seq AS "seq: Seq", g.line, g.lot AS "lot: LotId", l.code AS "code?: LotCode",
                  g.grams AS "grams: Grams", g.verdict AS "verdict: Verdict", g.reason, w.initials AS "initials?"
           FROM batch_ingredient g
                LEFT JOIN lot l ON l.id = g.lot
                JOIN entry e ON e.seq = g.seq LEFT JOIN signer w ON w.id = e.person
           WHERE g.batch = $1 AND g.struck_by IS NULL ORDER BY g.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// What was laid on the pieces in all, and what was left over.
pub async fn laid_on(db: &mut PgConnection, id: BatchId) -> Result<Option<(Grams, Grams)>> {
    let row = sqlx::query!(
        r#"SELECT sum(grams) AS "grams: Grams", sum(left_over) AS "left_over: Grams"
           FROM batch_applied WHERE batch = $1 AND struck_by IS NULL"#,
        id.0
    )
    .fetch_one(db)
    .await?;
    Ok(row.grams.zip(row.left_over))
}

/// The entries that took the meat of a batch and laid its cure on or stuffed its mix, those that stand.
pub async fn made_by(db: &mut PgConnection, id: BatchId) -> Result<Vec<Seq>> {
    let rows = query_scalar!(
        r#"SELECT seq AS "seq!: Seq" FROM (
               SELECT seq FROM batch_meat WHERE batch = $1 AND struck_by IS NULL
               UNION ALL SELECT seq FROM batch_applied WHERE batch = $1 AND struck_by IS NULL
               UNION ALL SELECT seq FROM batch_stuffed WHERE batch = $1 AND struck_by IS NULL) made
           ORDER BY seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A stage that a batch was in.
pub struct StageRow {
    pub stage: Stage,
    pub at: OffsetDateTime,
    pub place_name: Option<String>,
    pub initials: Option<String>,
}

/// The stages that were signed and stand, in order.
pub async fn stages(db: &mut PgConnection, id: BatchId) -> Result<Vec<StageRow>> {
    let rows = query_as!(
        StageRow,
        r#"SELECT s.stage AS "stage: Stage", s.at, p.name AS "place_name?", w.initials AS "initials?"
           FROM batch_stage s LEFT JOIN place p ON p.id = s.place
                JOIN entry e ON e.seq = s.seq LEFT JOIN signer w ON w.id = e.person
           WHERE s.batch = $1 AND s.struck_by IS NULL ORDER BY s.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// How the mix of a batch was stuffed.
pub struct Stuffing {
    pub pieces: i32,
    pub grams: Grams,
    pub casing_name: Option<String>,
    pub casing_code: Option<LotCode>,
    pub diameter_mm: Option<i16>,
    pub loss: Grams,
    pub found: Grams,
    pub initials: Option<String>,
}

/// The stuffings that stand, in order.
pub async fn stuffings(db: &mut PgConnection, id: BatchId) -> Result<Vec<Stuffing>> {
    let rows = query_as!(
        Stuffing,
        r#"SELECT s.pieces, s.grams AS "grams: Grams", c.item_name AS "casing_name?", c.code AS "casing_code?: LotCode",
                  s.diameter_mm, s.loss AS "loss: Grams", s.found AS "found: Grams", w.initials AS "initials?"
           FROM batch_stuffed s LEFT JOIN lot c ON c.id = s.casing
                JOIN entry e ON e.seq = s.seq LEFT JOIN signer w ON w.id = e.person
           WHERE s.batch = $1 AND s.struck_by IS NULL ORDER BY s.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// The reviews of a batch's records that are not struck, the first first: each line says who looked it over.
pub async fn reviews(db: &mut PgConnection, batch: BatchId) -> Result<Vec<LookedOver>> {
    let rows = query_as!(
        LookedOver,
        r#"SELECT r.upto AS "upto: Seq", coalesce(w.initials, '') AS "initials!"
           FROM review r JOIN entry e ON e.seq = r.seq LEFT JOIN signer w ON w.id = e.person
           WHERE r.batch = $1 AND r.struck_by IS NULL ORDER BY r.seq"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}
