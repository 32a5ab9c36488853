//! SQL of drying: the weigh-ins of a product's pieces, batch by batch, and its targets.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;
use uuid::Uuid;

use super::entry::DryingTargetWritten;
use super::forecast::{History, WeighIn, Weighed};
use crate::book::{Project, Seq, Written};
use crate::error::Result;
use crate::ids::{BatchId, ItemId, LotId, PlaceId};
use crate::measure::{Grams, LotCode, Percent, Ph, WaterActivity};

/// How many batches of a product a forecast looks back on, its own among them.
const BATCHES: i64 = 6;

impl Project for DryingTargetWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO drying_target (product, water_activity, ph, moisture_protein, source, seq)
             VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (product) DO UPDATE SET water_activity = excluded.water_activity, ph = excluded.ph,
                 moisture_protein = excluded.moisture_protein, source = excluded.source, seq = excluded.seq",
            self.product.id.0,
            self.water_activity.map(WaterActivity::decimal),
            self.ph.map(Ph::decimal),
            self.moisture_protein,
            self.source,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// The targets of a product, as they were written last.
pub struct Target {
    pub water_activity: Option<Decimal>,
    pub ph: Option<Decimal>,
    pub moisture_protein: Option<Decimal>,
    pub source: String,
    pub seq: Seq,
}

pub async fn target(db: &mut PgConnection, product: ItemId) -> Result<Option<Target>> {
    let row = query_as!(
        Target,
        r#"SELECT water_activity, ph, moisture_protein, source, seq AS "seq: Seq" FROM drying_target WHERE product = $1"#,
        product.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// A batch that dries.
pub struct Batch {
    pub code: LotCode,
    pub product: ItemId,
    pub product_name: String,
    pub stage: String,
    pub place: Option<PlaceId>,
}

pub async fn batch(db: &mut PgConnection, id: BatchId) -> Result<Option<Batch>> {
    let row = query_as!(
        Batch,
        r#"SELECT b.code AS "code: LotCode", b.product AS "product: ItemId", i.name AS product_name, b.stage,
                  b.stage_place AS "place: PlaceId"
           FROM batch b JOIN item i ON i.id = b.product WHERE b.id = $1 AND b.struck_by IS NULL"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

struct Row {
    lot: LotId,
    batch: BatchId,
    code: LotCode,
    green: Grams,
    green_at: OffsetDateTime,
    target: Option<Percent>,
    place: Option<PlaceId>,
    on_hand: bool,
    seq: Option<Seq>,
    grams: Option<Grams>,
    before: Option<Grams>,
    at: Option<OffsetDateTime>,
}

/// Rows of one piece after another, as pieces.
fn pieces(rows: Vec<Row>) -> Vec<Weighed> {
    let mut all: Vec<Weighed> = Vec::new();
    for row in rows {
        if all.last().is_none_or(|piece| piece.lot != row.lot) {
            all.push(Weighed {
                lot: row.lot,
                batch: row.batch,
                code: row.code,
                green: row.green,
                green_at: row.green_at,
                target: row.target,
                place: row.place,
                on_hand: row.on_hand,
                weighed: Vec::new(),
            });
        }
        let weighed = (row.seq, row.grams, row.before, row.at);
        if let (Some(piece), (Some(seq), Some(grams), Some(before), Some(at))) = (all.last_mut(), weighed) {
            piece.weighed.push(WeighIn { seq, grams, before, at });
        }
    }
    all
}

/// `query_as!` takes its text literally, so what the readings share stands here once.
macro_rules! weighed {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            Row,
            r#"SELECT p.lot AS "lot: LotId", p.batch AS "batch: BatchId", l.code AS "code: LotCode",
                      p.green AS "green: Grams", p.green_at, p.target_loss AS "target: Percent",
                      l.place AS "place: PlaceId", l.grams > 0 AS "on_hand!",
                      w.seq AS "seq?: Seq", w.grams AS "grams?: Grams", w.before AS "before?: Grams", w.at AS "at?"
               FROM piece p JOIN lot l ON l.id = p.lot JOIN batch b ON b.id = p.batch
               LEFT JOIN weigh_in w ON w.lot = p.lot AND w.struck_by IS NULL
               WHERE p.struck_by IS NULL AND "# + $tail + r#"
               ORDER BY b.begun_at, b.seq, l.code_day, l.code_number, l.code_piece, p.lot, w.at, w.seq"#
            $(, $arg)*
        )
    };
}

/// The pieces of a batch and of those of the same product that were begun before it, with their weigh-ins.
pub async fn history(db: &mut PgConnection, batch: BatchId) -> Result<History> {
    let rows = weighed!(
        "b.id IN (SELECT o.id FROM batch o JOIN batch own ON own.product = o.product AND own.begun_at >= o.begun_at
                  WHERE own.id = $1 AND o.struck_by IS NULL ORDER BY o.begun_at DESC, o.seq DESC LIMIT $2)",
        batch.0,
        BATCHES
    );
    Ok(History::of(pieces(rows.fetch_all(db).await?)))
}

/// These pieces with their weigh-ins.
pub async fn weighed(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<Weighed>> {
    let lots: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    Ok(pieces(weighed!("p.lot = ANY($1)", &lots).fetch_all(db).await?))
}

/// The pieces of a batch with their weigh-ins.
pub async fn weighed_of_batch(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Weighed>> {
    Ok(pieces(weighed!("p.batch = $1", batch.0).fetch_all(db).await?))
}

/// The humidity of a piece's chamber between its last two weigh-ins: the mean of what was measured in its place, or in the
/// one that it hangs in.
pub struct Air {
    pub lot: LotId,
    pub mean: Option<Decimal>,
    pub values: i64,
    /// The least that the limits in force ask for there.
    pub least: Option<Decimal>,
}

/// The air around several pieces, each in its own span of time.
pub async fn air(
    db: &mut PgConnection,
    spans: &[(LotId, PlaceId, OffsetDateTime, OffsetDateTime)],
) -> Result<Vec<Air>> {
    let lots: Vec<Uuid> = spans.iter().map(|span| span.0.0).collect();
    let places: Vec<Uuid> = spans.iter().map(|span| span.1.0).collect();
    let from: Vec<OffsetDateTime> = spans.iter().map(|span| span.2).collect();
    let to: Vec<OffsetDateTime> = spans.iter().map(|span| span.3).collect();
    let rows = query_as!(
        Air,
        r#"SELECT u.lot AS "lot!: LotId", a.mean, a.count AS "values!",
                  (SELECT max(c.least) FROM check_limit c JOIN place q ON q.id IN (p.id, p.within)
                   WHERE c.quantity = 'humidity' AND NOT c.retired
                     AND ((c.applies = 'place' AND c.place = q.id) OR (c.applies = 'kind' AND c.word = q.kind))) AS least
           FROM unnest($1::uuid[], $2::uuid[], $3::timestamptz[], $4::timestamptz[]) AS u(lot, place, since, until)
           JOIN place p ON p.id = u.place
           CROSS JOIN LATERAL (
               SELECT round(avg(v.value), 1) AS mean, count(*) AS count FROM (
                   SELECT s.value FROM sample_standing s
                   WHERE s.place IN (p.id, p.within) AND s.quantity = 'humidity' AND s.at BETWEEN u.since AND u.until
                   UNION ALL
                   SELECT r.value FROM reading r
                   WHERE r.place IN (p.id, p.within) AND r.quantity = 'humidity' AND r.struck_by IS NULL
                     AND r.at BETWEEN u.since AND u.until) v) a"#,
        &lots,
        &places,
        &from,
        &to
    );
    Ok(rows.fetch_all(db).await?)
}

/// The last reading of a quantity on a batch or on one of its pieces.
pub struct Latest {
    pub quantity: String,
    pub value: Decimal,
    pub at: OffsetDateTime,
    pub seq: Seq,
}

/// The last pH and the last water activity that were measured on a batch or on one of its pieces.
pub async fn latest(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Latest>> {
    let rows = query_as!(
        Latest,
        r#"SELECT DISTINCT ON (quantity) quantity, value, at, seq AS "seq: Seq" FROM reading
           WHERE quantity IN ('ph', 'water activity') AND struck_by IS NULL
             AND (batch = $1 OR lot IN (SELECT lot FROM piece WHERE batch = $1 AND struck_by IS NULL))
           ORDER BY quantity, at DESC, seq DESC"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}
