//! SQL of the walk, and of the shop's way of sharing.

use std::collections::BTreeMap;

use sqlx::{PgConnection, query};
use uuid::Uuid;

use super::entry::{CostMethodWritten, Method};
use super::walk::{self, About, Cost, Lineage};
use crate::book::{Account, Project, Seq, Written};
use crate::error::Result;
use crate::ids::LotId;
use crate::measure::{Grams, LotCode, PricePerKg};
use crate::standards::joint_cost::By;

impl Project for CostMethodWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            r#"INSERT INTO cost_method ("by", by_products_first, seq) VALUES ($1, $2, $3)
               ON CONFLICT (one) DO UPDATE SET "by" = excluded.by, by_products_first = excluded.by_products_first,
                   seq = excluded.seq"#,
            self.by.word(),
            self.by_products_first,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// How the shop shares a source's cost over its cuts.
pub async fn method(db: &mut PgConnection) -> Result<Method> {
    let row = query!(r#"SELECT "by", by_products_first FROM cost_method"#).fetch_optional(db).await?;
    Ok(row.map_or_else(Method::default, |row| Method {
        by: if row.by == "sales value" { By::SalesValue } else { By::Weight },
        by_products_first: row.by_products_first,
    }))
}

/// What each of these lots costs, by the shop's way of sharing. Lots that are not in the book are left out.
pub async fn cost_of(db: &mut PgConnection, lots: &[LotId]) -> Result<BTreeMap<LotId, Cost>> {
    if lots.is_empty() {
        return Ok(BTreeMap::new());
    }
    let method = method(db).await?;
    let lineage = lineage(db, lots).await?;
    let known: Vec<LotId> = lots.iter().copied().filter(|lot| lineage.lots.contains_key(lot)).collect();
    Ok(walk::costs(&lineage, &known, method))
}

/// Every movement that bears on the cost of these lots: of themselves and of all that they came from, without what was
/// struck. One walk backward over `movement_in`, then every entry that touched one of the lots found.
async fn lineage(db: &mut PgConnection, lots: &[LotId]) -> Result<Lineage> {
    let ids: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query!(
        r#"WITH RECURSIVE line (lot) AS (
               SELECT u.lot FROM unnest($1::uuid[]) AS u(lot)
               UNION
               SELECT o.lot
               FROM line
               JOIN movement i ON i.lot = line.lot AND i.grams > 0
               JOIN movement o ON o.seq = i.seq AND o.grams < 0 AND o.lot IS NOT NULL
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = i.seq)
                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = i.seq)
           ), touched (seq) AS (
               SELECT m.seq FROM line JOIN movement m ON m.lot = line.lot AND m.grams > 0
               UNION
               SELECT m.seq FROM line JOIN movement m ON m.lot = line.lot AND m.grams < 0
           )
           SELECT m.seq AS "seq: Seq", e.kind, m.lot AS "lot: LotId", m.account AS "account: Account",
                  m.grams AS "grams: Grams", l.code AS "code?: LotCode", l.item_name AS "item_name?",
                  i.sales_price AS "sales_price?: PricePerKg", coalesce(i.by_product, false) AS "by_product!",
                  r.price AS "price?: PricePerKg", r.grams AS "received?: Grams"
           FROM touched t
           JOIN entry e ON e.seq = t.seq
           JOIN movement m ON m.seq = t.seq
           LEFT JOIN lot l ON l.id = m.lot
           LEFT JOIN item i ON i.id = l.item
           LEFT JOIN received r ON r.lot = l.id AND r.struck_by IS NULL
           WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = t.seq)
             AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = t.seq)
           ORDER BY m.seq, m.n"#,
        &ids
    )
    .fetch_all(db)
    .await?;
    let mut lineage = Lineage::default();
    for row in rows {
        let step = lineage.steps.entry(row.seq).or_default();
        step.apart = row.kind == super::TAKES_APART;
        if let Some(account) = row.account {
            step.accounts.push((account, row.grams));
        }
        let (Some(lot), Some(code)) = (row.lot, row.code) else { continue };
        step.lots.push((lot, row.grams));
        lineage.lots.entry(lot).or_insert_with(|| About {
            code,
            item_name: row.item_name.unwrap_or_default(),
            paid: row.price.zip(row.received).map(|(price, grams)| price.cost(grams)),
            sales_price: row.sales_price,
            by_product: row.by_product,
        });
    }
    Ok(lineage)
}
