//! What the book holds of a batch that a treatment asks for.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query_as, query_scalar};
use time::{Date, OffsetDateTime};
use uuid::Uuid;

use crate::book::Seq;
use crate::error::Result;
use crate::ids::{BatchId, ItemId, LotId, PlaceId};
use crate::measure::{Celsius, Grams, Length, LotCode, Percent};
use crate::recipes::{RecipeKind, Role, Stage};

/// A batch, and when it was released.
#[derive(Debug, Clone)]
pub struct BatchRow {
    pub code: LotCode,
    pub product: ItemId,
    pub product_name: String,
    pub kind: RecipeKind,
    pub released_at: Option<OffsetDateTime>,
}

pub async fn batch(db: &mut PgConnection, id: BatchId) -> Result<Option<BatchRow>> {
    let row = query_as!(
        BatchRow,
        r#"SELECT b.code AS "code: LotCode", b.product AS "product: ItemId", i.name AS product_name,
                  v.kind AS "kind: RecipeKind", CASE WHEN b.stage = 'released' THEN b.stage_at END AS released_at
           FROM batch b JOIN item i ON i.id = b.product
                JOIN recipe_version v ON v.recipe = b.recipe AND v.version = b.version
           WHERE b.id = $1 AND b.struck_by IS NULL"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// The batches that are not released, the latest first.
pub async fn batches(db: &mut PgConnection) -> Result<Vec<(BatchId, LotCode, String)>> {
    let rows = sqlx::query!(
        r#"SELECT b.id AS "id: BatchId", b.code AS "code: LotCode", i.name FROM batch b JOIN item i ON i.id = b.product
           WHERE b.struck_by IS NULL AND b.stage <> 'released' ORDER BY b.begun_at DESC, b.code"#
    );
    Ok(rows.fetch_all(db).await?.into_iter().map(|row| (row.id, row.code, row.name)).collect())
}

/// A stage from its beginning to the next.
#[derive(Debug, Clone)]
pub struct StageSpan {
    pub seq: Seq,
    pub stage: Stage,
    pub place: Option<PlaceId>,
    pub from: OffsetDateTime,
    pub to: Option<OffsetDateTime>,
}

pub async fn stages(db: &mut PgConnection, id: BatchId) -> Result<Vec<StageSpan>> {
    let rows = query_as!(
        StageSpan,
        r#"SELECT s.seq AS "seq: Seq", s.stage AS "stage: Stage", s.place AS "place: PlaceId", s.at AS "from",
                  lead(s.at) OVER (ORDER BY s.at, s.seq) AS "to"
           FROM batch_stage s WHERE s.batch = $1 AND s.struck_by IS NULL ORDER BY s.at, s.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// An ingredient that was weighed.
#[derive(Debug, Clone)]
pub struct Ingredient {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub role: Role,
    pub grams: Grams,
    /// Salt in it, per cent, where its pack says.
    pub salt: Option<Percent>,
    pub nitrite: Option<Percent>,
    pub nitrate: Option<Percent>,
}

pub async fn ingredients(db: &mut PgConnection, id: BatchId) -> Result<Vec<Ingredient>> {
    let rows = query_as!(
        Ingredient,
        r#"SELECT g.seq AS "seq: Seq", e.happened_at AS at, n.role AS "role: Role", g.grams AS "grams: Grams",
                  n.salt AS "salt: Percent", g.nitrite AS "nitrite: Percent", g.nitrate AS "nitrate: Percent"
           FROM batch_ingredient g JOIN batch b ON b.id = g.batch
                JOIN recipe_line n ON n.recipe = b.recipe AND n.version = b.version AND n.n = g.line
                JOIN entry e ON e.seq = g.seq
           WHERE g.batch = $1 AND g.struck_by IS NULL ORDER BY g.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// Meat that went in.
#[derive(Debug, Clone)]
pub struct MeatRow {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub lot: LotId,
    pub code: LotCode,
    pub grams: Grams,
    pub species: String,
}

pub async fn meat(db: &mut PgConnection, id: BatchId) -> Result<Vec<MeatRow>> {
    let rows = query_as!(
        MeatRow,
        r#"SELECT m.seq AS "seq: Seq", e.happened_at AS at, m.lot AS "lot: LotId", l.code AS "code: LotCode",
                  m.grams AS "grams: Grams", i.species
           FROM batch_meat m JOIN lot l ON l.id = m.lot JOIN item i ON i.id = l.item JOIN entry e ON e.seq = m.seq
           WHERE m.batch = $1 AND m.struck_by IS NULL ORDER BY m.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// The weights of the pieces when they were green.
pub async fn pieces(db: &mut PgConnection, id: BatchId) -> Result<Vec<Grams>> {
    let rows = query_scalar!(
        r#"SELECT green AS "green: Grams" FROM piece WHERE batch = $1 AND struck_by IS NULL ORDER BY green"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A stuffing.
#[derive(Debug, Clone)]
pub struct Stuffed {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub diameter_mm: Option<i16>,
}

pub async fn stuffed(db: &mut PgConnection, id: BatchId) -> Result<Vec<Stuffed>> {
    let rows = query_as!(
        Stuffed,
        r#"SELECT s.seq AS "seq: Seq", e.happened_at AS at, s.diameter_mm
           FROM batch_stuffed s JOIN entry e ON e.seq = s.seq
           WHERE s.batch = $1 AND s.struck_by IS NULL ORDER BY s.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A temperature that was read on a thing itself.
#[derive(Debug, Clone)]
pub struct ReadOn {
    pub seq: Seq,
    pub lot: Option<LotId>,
    pub at: OffsetDateTime,
    pub value: Decimal,
}

/// Temperatures of the batch and its pieces.
pub async fn read_on_batch(db: &mut PgConnection, id: BatchId) -> Result<Vec<ReadOn>> {
    let rows = query_as!(
        ReadOn,
        r#"SELECT r.seq AS "seq: Seq", r.lot AS "lot: LotId", r.at, r.value FROM reading r
           WHERE r.quantity = 'temperature' AND r.struck_by IS NULL
             AND (r.batch = $1 OR r.lot IN (SELECT p.lot FROM piece p WHERE p.batch = $1 AND p.struck_by IS NULL))
           ORDER BY r.at, r.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// Temperatures of these lots.
pub async fn read_on_lots(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<ReadOn>> {
    let lots: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        ReadOn,
        r#"SELECT r.seq AS "seq: Seq", r.lot AS "lot: LotId", r.at, r.value FROM reading r
           WHERE r.quantity = 'temperature' AND r.struck_by IS NULL AND r.lot = ANY($1) ORDER BY r.at, r.seq"#,
        &lots
    );
    Ok(rows.fetch_all(db).await?)
}

/// Where meat came through the door, and whose it was.
#[derive(Debug, Clone)]
pub struct FromSupplier {
    /// The meat of the batch that came from it.
    pub taken: LotId,
    pub lot: LotId,
    pub code: LotCode,
    pub seq: Seq,
    pub supplier: String,
    pub papers: String,
    pub approved_until: Option<Date>,
    pub at: OffsetDateTime,
    pub frozen: bool,
    pub temperature: Option<Celsius>,
}

/// Where each of these meats came through the door: one walk backward over the movements.
pub async fn from_suppliers(db: &mut PgConnection, meats: &[LotId]) -> Result<Vec<FromSupplier>> {
    let meats: Vec<Uuid> = meats.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        FromSupplier,
        r#"WITH RECURSIVE line (taken, lot) AS (
               SELECT u.lot, u.lot FROM unnest($1::uuid[]) AS u(lot)
               UNION
               SELECT line.taken, o.lot
               FROM line
               JOIN movement i ON i.lot = line.lot AND i.grams > 0
               JOIN movement o ON o.seq = i.seq AND o.grams < 0 AND o.lot IS NOT NULL
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = i.seq OR s.by_seq = i.seq))
           SELECT line.taken AS "taken!: LotId", r.lot AS "lot!: LotId", l.code AS "code: LotCode", r.seq AS "seq: Seq",
                  s.name AS supplier, s.papers, s.approved_until, d.happened_at AS at, r.frozen,
                  r.temperature AS "temperature: Celsius"
           FROM line JOIN received r ON r.lot = line.lot AND r.struck_by IS NULL JOIN lot l ON l.id = r.lot
                JOIN delivery d ON d.id = r.delivery JOIN supplier s ON s.id = r.supplier
           ORDER BY r.seq, line.taken"#,
        &meats
    );
    Ok(rows.fetch_all(db).await?)
}

/// A stay of meat, or of what it came from, in a freezer.
#[derive(Debug, Clone)]
pub struct Frozen {
    /// The meat of the batch that it is of.
    pub taken: LotId,
    /// What lay in the freezer.
    pub lot: LotId,
    pub code: LotCode,
    pub freezer: PlaceId,
    pub freezer_name: String,
    pub from: OffsetDateTime,
    pub to: Option<OffsetDateTime>,
    /// The entry that states it, or that put it there.
    pub seq: Seq,
    pub how: FrozenIn,
}

/// How a freezing is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FrozenIn {
    /// Somebody stated it, with thickness and spacing.
    Stated { thickness: Length, spaced: bool },
    /// It was put in a freezer and later elsewhere.
    Placed,
}

struct FrozenRow {
    taken: LotId,
    lot: LotId,
    code: LotCode,
    freezer: PlaceId,
    freezer_name: String,
    from: OffsetDateTime,
    to: Option<OffsetDateTime>,
    seq: Seq,
    thickness: Option<Length>,
    spaced: Option<bool>,
}

/// Freezings of these meats and of what they came from: those that somebody stated, and the stays in a freezer that the
/// placements show. A stay ends when the lot is put elsewhere or what came from it is made.
pub async fn frozen(db: &mut PgConnection, meats: &[LotId]) -> Result<Vec<Frozen>> {
    let meats: Vec<Uuid> = meats.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        FrozenRow,
        r#"WITH RECURSIVE line (taken, lot, until) AS (
               SELECT u.lot, u.lot, (SELECT min(e.happened_at) FROM batch_meat m JOIN entry e ON e.seq = m.seq
                                     WHERE m.lot = u.lot AND m.struck_by IS NULL)
               FROM unnest($1::uuid[]) AS u(lot)
               UNION
               SELECT line.taken, o.lot, e.happened_at
               FROM line
               JOIN movement i ON i.lot = line.lot AND i.grams > 0
               JOIN movement o ON o.seq = i.seq AND o.grams < 0 AND o.lot IS NOT NULL
               JOIN entry e ON e.seq = i.seq
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = i.seq OR s.by_seq = i.seq)
           ), one AS (SELECT taken, lot, min(until) AS until FROM line GROUP BY taken, lot),
           stays AS (
               SELECT o.taken, o.lot, o.until, p.place, p.seq, e.happened_at AS begun,
                      lead(e.happened_at) OVER (PARTITION BY o.taken, o.lot ORDER BY e.happened_at, p.seq) AS next
               FROM one o JOIN put p ON p.lot = o.lot JOIN entry e ON e.seq = p.seq
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = p.seq)),
           found AS (
               SELECT o.taken, o.lot, f.freezer, f.begun_at AS begun, least(f.ended_at, o.until) AS ended, f.seq, f.thickness,
                      f.spaced
               FROM one o JOIN freezing_lot n ON n.lot = o.lot JOIN freezing f ON f.seq = n.seq AND f.struck_by IS NULL
               UNION ALL
               SELECT s.taken, s.lot, s.place, s.begun, least(s.next, s.until), s.seq, NULL, NULL
               FROM stays s JOIN place p ON p.id = s.place AND p.kind = 'freezer')
           SELECT f.taken AS "taken!: LotId", f.lot AS "lot!: LotId", l.code AS "code!: LotCode",
                  f.freezer AS "freezer!: PlaceId", p.name AS "freezer_name!", f.begun AS "from!", f.ended AS "to",
                  f.seq AS "seq!: Seq", f.thickness AS "thickness: Length", f.spaced
           FROM found f JOIN lot l ON l.id = f.lot JOIN place p ON p.id = f.freezer
           WHERE f.ended IS NULL OR f.ended > f.begun ORDER BY f.begun, f.seq"#,
        &meats
    )
    .fetch_all(db)
    .await?;
    let read = |row: FrozenRow| {
        let how = row.thickness.zip(row.spaced);
        let how = how.map_or(FrozenIn::Placed, |(thickness, spaced)| FrozenIn::Stated { thickness, spaced });
        let FrozenRow { taken, lot, code, freezer, freezer_name, from, to, seq, .. } = row;
        Frozen { taken, lot, code, freezer, freezer_name, from, to, seq, how }
    };
    Ok(rows.into_iter().map(read).collect())
}
