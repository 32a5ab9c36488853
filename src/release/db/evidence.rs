//! What is recorded of a batch and its pieces: readings, weigh-ins, holds, the checks of its limits.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query};

use crate::book::Seq;
use crate::checks::{Quantity, Value};
use crate::error::Result;
use crate::ids::{BatchId, ItemId, LimitId, LotId, Named};
use crate::measure::{Grams, LotCode};
use crate::recipes::Stage;
use crate::release::entry::judge::{Checked, Measured, Open, PieceKnown};

/// A batch as a release looks at it.
pub struct Standing {
    pub batch: BatchId,
    pub code: LotCode,
    pub product: Named<ItemId>,
    pub stage: Stage,
}

/// A batch that stands.
pub async fn standing(db: &mut PgConnection, batch: BatchId) -> Result<Option<Standing>> {
    let row = query!(
        r#"SELECT b.code AS "code: LotCode", b.product AS "product: ItemId", i.name, b.stage AS "stage: Stage"
           FROM batch b JOIN item i ON i.id = b.product WHERE b.id = $1 AND b.struck_by IS NULL"#,
        batch.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| Standing {
        batch,
        code: row.code,
        product: Named::new(row.product, row.name),
        stage: row.stage,
    }))
}

/// The pieces of a batch that stand, in the order of their codes.
pub async fn pieces(db: &mut PgConnection, batch: BatchId) -> Result<Vec<PieceKnown>> {
    let rows = query!(
        r#"SELECT p.lot AS "lot: LotId", l.code, p.green AS "green: Grams", l.grams > 0 AS "here!",
                  w.grams AS "last_grams?: Grams", w.seq AS "last_seq?: Seq", h.reason AS "held?",
                  h.seq AS "held_seq?: Seq"
           FROM piece p JOIN lot l ON l.id = p.lot
           LEFT JOIN LATERAL (SELECT i.grams, i.seq FROM weigh_in i
                              WHERE i.lot = p.lot AND i.struck_by IS NULL ORDER BY i.seq DESC LIMIT 1) w ON true
           LEFT JOIN LATERAL (SELECT o.reason, o.seq FROM hold o
                              WHERE o.lot = p.lot AND o.lifted_by IS NULL ORDER BY o.seq LIMIT 1) h ON true
           WHERE p.batch = $1 AND p.struck_by IS NULL ORDER BY l.code_day, l.code_number, l.code_piece"#,
        batch.0
    )
    .fetch_all(db)
    .await?;
    let known = rows.into_iter().map(|row| PieceKnown {
        lot: row.lot,
        code: row.code,
        green: row.green,
        last: row.last_grams.zip(row.last_seq),
        here: row.here,
        held: row.held.zip(row.held_seq),
    });
    Ok(known.collect())
}

/// The readings of a batch and of its pieces that stand. One on its mix is one of the batch.
pub async fn readings(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Measured>> {
    let rows = query!(
        r#"SELECT r.seq AS "seq: Seq", p.lot AS "lot?: LotId", r.quantity AS "quantity: Quantity", r.value, r.at
           FROM reading r
           JOIN batch b ON b.id = $1
           LEFT JOIN piece p ON p.lot = r.lot AND p.batch = b.id AND p.struck_by IS NULL
           WHERE (r.batch = b.id OR r.lot = b.mix OR p.lot IS NOT NULL) AND r.struck_by IS NULL
           ORDER BY r.at, r.seq"#,
        batch.0
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let value = Value::of(row.quantity, row.value).map_err(anyhow::Error::from)?;
            Ok(Measured { seq: row.seq, lot: row.lot, value, at: row.at })
        })
        .collect()
}

/// The open deviations on the batch itself. Those that concern its pieces are asked of the deviations.
pub async fn open_on_batch(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Open>> {
    let rows = query!(
        r#"SELECT d.seq AS "seq: Seq", d.what, d.batch = $1 AS of_batch,
                  ARRAY(SELECT n.lot FROM deviation_lot n WHERE n.deviation = d.id ORDER BY n.lot)
                      AS "lots!: Vec<LotId>"
           FROM deviation d
           WHERE d.closed_by IS NULL AND d.struck_by IS NULL
             AND (d.batch = $1 OR EXISTS (SELECT 1 FROM deviation_lot n JOIN batch b ON b.id = $1
                                          LEFT JOIN piece p ON p.lot = n.lot AND p.batch = b.id
                                          WHERE n.deviation = d.id AND (n.lot = b.mix OR p.lot IS NOT NULL)))
           ORDER BY d.opened_at, d.seq"#,
        batch.0
    )
    .fetch_all(db)
    .await?;
    let open = rows.into_iter().map(|row| Open {
        seq: row.seq,
        what: row.what,
        of_batch: row.of_batch.unwrap_or_default(),
        lots: row.lots,
    });
    Ok(open.collect())
}

/// A limit that holds for a stage that the batch has been in.
pub struct Limited {
    pub limit: LimitId,
    pub name: String,
    pub quantity: Quantity,
    pub least: Option<Decimal>,
    pub most: Option<Decimal>,
    pub at_end: bool,
    pub stage: Stage,
    pub checks: Vec<Checked>,
}

/// The limits in force for the stages of a batch, with the checks against each that were recorded on it or on its pieces
/// while it was in that stage. A limit that the shop first wrote after the stage was over could not be checked.
pub async fn ccps(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Limited>> {
    let rows = query!(
        r#"WITH spent AS (
               SELECT s.stage, s.at AS since, lead(s.at) OVER (ORDER BY s.seq) AS until
               FROM batch_stage s WHERE s.batch = $1 AND s.struck_by IS NULL
           )
           SELECT c.id AS "limit!: LimitId", c.name AS "name!", c.quantity AS "quantity!: Quantity", c.least, c.most,
                  c.applies = 'end' AS "at_end!", t.stage AS "stage!: Stage",
                  k.seqs AS "seqs!: Vec<Seq>", k.mets AS "mets!: Vec<bool>", k.closed AS "closed!: Vec<Option<Seq>>"
           FROM spent t
           JOIN check_limit c ON c.applies IN ('stage', 'end') AND c.word = t.stage AND NOT c.retired
                AND (c.only_kinds = '{}' OR EXISTS (SELECT 1 FROM batch b JOIN recipe_version y
                     ON y.recipe = b.recipe AND y.version = b.version WHERE b.id = $1 AND y.kind = ANY(c.only_kinds)))
                AND (c.under IS NULL OR c.under = plan_of_batch($1))
           JOIN LATERAL (SELECT min(e.happened_at) AS since FROM about a JOIN entry e ON e.seq = a.seq
                         WHERE a.subject = c.id AND e.kind = 'limit.written') w
                ON t.until IS NULL OR w.since < t.until
           JOIN LATERAL (
               SELECT coalesce(array_agg(r.seq ORDER BY r.at, r.seq), '{}') AS seqs,
                      coalesce(array_agg(q.met ORDER BY r.at, r.seq), '{}') AS mets,
                      coalesce(array_agg((SELECT max(d.closed_by) FROM deviation d
                                          WHERE d.seq = r.seq AND d.struck_by IS NULL) ORDER BY r.at, r.seq), '{}')
                          AS closed
               FROM check_record q JOIN reading r ON r.seq = q.seq JOIN batch b ON b.id = $1
               WHERE q.check_limit = c.id AND q.struck_by IS NULL AND r.struck_by IS NULL
                 AND (r.batch = b.id OR r.lot = b.mix
                      OR r.lot IN (SELECT p.lot FROM piece p WHERE p.batch = b.id AND p.struck_by IS NULL))
                 AND r.at >= t.since AND (t.until IS NULL OR r.at <= t.until)) k ON true
           ORDER BY t.since, lower(c.name)"#,
        batch.0
    )
    .fetch_all(db)
    .await?;
    let limited = rows.into_iter().map(|row| Limited {
        limit: row.limit,
        name: row.name,
        quantity: row.quantity,
        least: row.least,
        most: row.most,
        at_end: row.at_end,
        stage: row.stage,
        checks: row
            .seqs
            .into_iter()
            .zip(row.mets)
            .zip(row.closed)
            .map(|((seq, met), closed)| Checked { seq, met, closed })
            .collect(),
    });
    Ok(limited.collect())
}
