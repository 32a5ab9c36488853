//! SQL of label sizes, and what tags and labels say of their lots.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use super::entry::{LabelSizeWritten, Paper, Sheet, Uses, shipped};
use super::ingredients::{Used, laid_on};
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{BatchId, LabelSizeId, LotId};
use crate::measure::{Grams, Length, LotCode, Percent};

impl Project for LabelSizeWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let small = |count: u16| i16::try_from(count).unwrap_or(i16::MAX);
        let sheet = self.sheet.as_ref();
        query!(
            "INSERT INTO label_size (id, name, width, height, unit, uses, paper, across, down, from_left, from_top,
                                     gap_across, gap_down, retired, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, width = excluded.width, height = excluded.height,
                 unit = excluded.unit, uses = excluded.uses, paper = excluded.paper, across = excluded.across,
                 down = excluded.down, from_left = excluded.from_left, from_top = excluded.from_top,
                 gap_across = excluded.gap_across, gap_down = excluded.gap_down, retired = excluded.retired,
                 seq = excluded.seq",
            self.size.0,
            self.name,
            self.width as Length,
            self.height as Length,
            self.unit.symbol(),
            self.uses.word(),
            sheet.map(|sheet| sheet.paper.word()),
            sheet.map(|sheet| small(sheet.across)),
            sheet.map(|sheet| small(sheet.down)),
            sheet.map(|sheet| sheet.from_left) as Option<Length>,
            sheet.map(|sheet| sheet.from_top) as Option<Length>,
            sheet.map(|sheet| sheet.gap_across) as Option<Length>,
            sheet.map(|sheet| sheet.gap_down) as Option<Length>,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("label_size_name_key", "name", "Another size has this name.")?;
        Ok(())
    }
}

/// All sizes, also those no longer used: the shipped ones as the shop has changed them, then its own, by name.
pub async fn sizes(db: &mut PgConnection) -> Result<Vec<LabelSizeWritten>> {
    let rows = query!(
        r#"SELECT id AS "size: LabelSizeId", name, width AS "width: Length", height AS "height: Length", unit,
                  uses AS "uses: Uses", paper AS "paper: Paper", across, down, from_left AS "from_left: Length",
                  from_top AS "from_top: Length", gap_across AS "gap_across: Length", gap_down AS "gap_down: Length",
                  retired
           FROM label_size ORDER BY lower(name)"#
    )
    .fetch_all(db)
    .await?;
    let mut own = Vec::with_capacity(rows.len());
    for row in rows {
        let count = |count: Option<i16>| count.and_then(|count| u16::try_from(count).ok()).unwrap_or(1);
        let length = |length: Option<Length>| length.unwrap_or(Length::ZERO);
        own.push(LabelSizeWritten {
            size: row.size,
            name: row.name,
            width: row.width,
            height: row.height,
            unit: row.unit.parse().map_err(anyhow::Error::from)?,
            uses: row.uses,
            sheet: row.paper.map(|paper| Sheet {
                paper,
                across: count(row.across),
                down: count(row.down),
                from_left: length(row.from_left),
                from_top: length(row.from_top),
                gap_across: length(row.gap_across),
                gap_down: length(row.gap_down),
            }),
            retired: row.retired,
        });
    }
    let mut all: Vec<LabelSizeWritten> = Vec::new();
    for size in shipped() {
        let at = own.iter().position(|one| one.size == size.size);
        all.push(at.map_or(size, |at| own.remove(at)));
    }
    all.extend(own);
    Ok(all)
}

/// One size, shipped or written.
pub async fn size(db: &mut PgConnection, id: LabelSizeId) -> Result<Option<LabelSizeWritten>> {
    Ok(sizes(db).await?.into_iter().find(|size| size.size == id))
}

/// The ids of the lots with these codes.
pub async fn by_codes(db: &mut PgConnection, codes: &[LotCode]) -> Result<Vec<LotId>> {
    let codes: Vec<String> = codes.iter().map(ToString::to_string).collect();
    let ids = query_scalar!(r#"SELECT id AS "id: LotId" FROM lot WHERE code = ANY($1)"#, &codes);
    Ok(ids.fetch_all(db).await?)
}

/// What a tag or a label says of a lot beyond what the book knows of every lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    pub lot: LotId,
    /// What labels call it.
    pub name: String,
    pub opened_at: OffsetDateTime,
    /// Whether its making stands in the way of selling it.
    pub for_sale: bool,
    /// The code of the lot on hold that it was packed from.
    pub held_behind: Option<String>,
    /// The batch that it is a piece of, or that the piece it was packed from is of.
    pub batch: Option<BatchId>,
    pub batch_code: Option<LotCode>,
    pub green: Option<Grams>,
    pub green_at: Option<OffsetDateTime>,
    /// When it first hung to dry.
    pub hung_at: Option<OffsetDateTime>,
    pub target_loss: Option<Percent>,
}

/// What is told of these lots.
pub async fn told(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<Told>> {
    let lots: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        Told,
        r#"SELECT l.id AS "lot!: LotId", coalesce(nullif(i.label_name, ''), l.item_name) AS "name!",
                  l.opened_at AS "opened_at!", for_sale(l.id) AS "for_sale!", held_behind(l.id) AS held_behind, p.batch AS "batch?: BatchId",
                  b.code AS "batch_code?: LotCode", p.green AS "green?: Grams", p.green_at AS "green_at?",
                  (SELECT min(s.at) FROM batch_stage s
                   WHERE s.batch = p.batch AND s.stage = 'drying' AND s.struck_by IS NULL) AS hung_at,
                  p.target_loss AS "target_loss?: Percent"
           FROM lot l LEFT JOIN item i ON i.id = l.item
                LEFT JOIN pack k ON k.lot = l.id
                LEFT JOIN piece p ON p.lot = coalesce(k.source, l.id)
                LEFT JOIN batch b ON b.id = p.batch
           WHERE l.id = ANY($1)"#,
        &lots
    );
    Ok(rows.fetch_all(db).await?)
}

/// What went into these batches, weighing by weighing. What was struck did not.
pub async fn used(db: &mut PgConnection, batches: &[BatchId]) -> Result<Vec<(BatchId, Used)>> {
    let batches: Vec<Uuid> = batches.iter().map(|batch| batch.0).collect();
    let rows = query!(
        r#"WITH went_in AS (
               SELECT m.batch, l.item, m.lot, m.grams, false AS cure
               FROM batch_meat m JOIN lot l ON l.id = m.lot WHERE m.struck_by IS NULL
               UNION ALL
               SELECT g.batch, g.item, g.lot, g.grams, true FROM batch_ingredient g WHERE g.struck_by IS NULL
               UNION ALL
               SELECT s.batch, l.item, s.casing, s.casing_grams, false
               FROM batch_stuffed s JOIN lot l ON l.id = s.casing WHERE s.struck_by IS NULL
           )
           SELECT w.batch AS "batch!: BatchId", coalesce(nullif(i.label_name, ''), i.name) AS "name!",
                  w.grams AS "grams!: Grams", w.cure AS "cure!",
                  i.allergens || coalesce(r.allergens, ARRAY[]::text[]) AS "allergens!: Vec<String>",
                  coalesce((SELECT sum(a.grams) FROM batch_applied a WHERE a.batch = w.batch AND a.struck_by IS NULL), 0)
                      AS "applied!: Grams",
                  coalesce((SELECT sum(a.left_over) FROM batch_applied a
                            WHERE a.batch = w.batch AND a.struck_by IS NULL), 0) AS "left_over!: Grams"
           FROM went_in w JOIN item i ON i.id = w.item LEFT JOIN received r ON r.lot = w.lot
           WHERE w.batch = ANY($1) ORDER BY w.batch, i.name"#,
        &batches
    )
    .fetch_all(db)
    .await?;
    let used = rows.into_iter().map(|row| {
        // What is weighed into a box of cure and thrown away after it was laid on never was in the product.
        let grams = if row.cure { laid_on(row.grams, row.applied, row.left_over) } else { row.grams };
        (row.batch, Used { name: row.name, grams, allergens: row.allergens })
    });
    Ok(used.collect())
}
