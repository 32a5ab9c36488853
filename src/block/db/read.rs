//! Reading breakdowns and cuts.

use std::collections::BTreeMap;

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;

use super::super::entry::{CutListWritten, OnTheBlock};
use crate::book::{self, Form, Seq};
use crate::error::{Error, Result};
use crate::ids::{BreakdownId, ItemId, LotId, PlaceId};
use crate::measure::{Grams, LotCode, Percent};

/// A breakdown and what lies on the block of it.
pub async fn on_the_block(db: &mut PgConnection, id: BreakdownId) -> Result<Option<OnTheBlock>> {
    let row = query!(
        r#"SELECT b.lot AS "lot: LotId", b.taken_in AS "taken_in: Grams", b.closed_by IS NOT NULL AS "closed!",
                  coalesce((SELECT sum(r.found) FROM reweighing r WHERE r.breakdown = b.id AND r.struck_by IS NULL), 0)
                      AS "found!: Grams",
                  (SELECT count(*) FROM cut c WHERE c.breakdown = b.id AND c.struck_by IS NULL) AS "cuts!",
                  l.tolerance AS "tolerance?: Percent"
           FROM breakdown b LEFT JOIN cut_list l ON l.id = b.cut_list
           WHERE b.id = $1 AND b.struck_by IS NULL"#,
        id.0
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(row) = row else { return Ok(None) };
    let source = book::db::lot(db, row.lot).await?.ok_or(Error::NotFound)?;
    Ok(Some(OnTheBlock {
        breakdown: id,
        taken_in: row.taken_in,
        found: row.found,
        cuts: u32::try_from(row.cuts).map_err(anyhow::Error::from)?,
        tolerance: row.tolerance.unwrap_or_else(CutListWritten::usual_tolerance),
        closed: row.closed,
        source,
    }))
}

/// How a breakdown was closed.
pub struct Closed {
    pub at: OffsetDateTime,
    pub seq: Seq,
    pub loss: Grams,
    pub reason: String,
}

/// How a breakdown was closed; `None` while it is open.
pub async fn closed(db: &mut PgConnection, id: BreakdownId) -> Result<Option<Closed>> {
    let row = query_as!(
        Closed,
        r#"SELECT closed_at AS "at!", closed_by AS "seq!: Seq", loss AS "loss!: Grams", reason
           FROM breakdown WHERE id = $1 AND closed_by IS NOT NULL"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// A breakdown as the list of them shows it.
pub struct Listed {
    pub id: BreakdownId,
    pub code: LotCode,
    pub item_name: String,
    pub taken_in: Grams,
    pub left: Grams,
    pub opened_at: OffsetDateTime,
    pub loss: Option<Grams>,
}

/// The open breakdowns first, then the latest closed ones.
pub async fn listed(db: &mut PgConnection, limit: i64) -> Result<Vec<Listed>> {
    let rows = query_as!(
        Listed,
        r#"SELECT b.id AS "id: BreakdownId", l.code AS "code: LotCode", l.item_name, b.taken_in AS "taken_in: Grams",
                  l.grams AS "left: Grams", b.opened_at, b.loss AS "loss: Grams"
           FROM breakdown b JOIN lot l ON l.id = b.lot
           WHERE b.struck_by IS NULL
           ORDER BY b.closed_by IS NOT NULL, b.opened_at DESC LIMIT $1"#,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot that can come on the block.
pub struct Waiting {
    pub lot: LotId,
    pub code: LotCode,
    pub item: ItemId,
    pub item_name: String,
    pub grams: Grams,
    pub form: Form,
}

/// Carcasses, sides, primals and cuts that hold something, are not held and are not on the block.
pub async fn waiting(db: &mut PgConnection) -> Result<Vec<Waiting>> {
    let rows = query_as!(
        Waiting,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item AS "item: ItemId", l.item_name,
                  l.grams AS "grams: Grams", l.form AS "form: Form"
           FROM lot l
           WHERE l.grams > 0 AND l.form IN ('carcass', 'side', 'primal', 'cut')
             AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL)
             AND NOT EXISTS (SELECT 1 FROM breakdown b WHERE b.lot = l.id AND b.closed_by IS NULL
                             AND b.struck_by IS NULL)
           ORDER BY array_position(ARRAY['carcass', 'side', 'primal', 'cut'], l.form), l.code_day, l.code_number,
                    l.code_piece"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// An expected cut of a breakdown's list.
pub struct Expected {
    pub item: ItemId,
    pub name: String,
    pub share: Percent,
    pub goes_to: String,
}

/// The cut list of a breakdown, in its order; empty where it has none.
pub async fn expected(db: &mut PgConnection, id: BreakdownId) -> Result<Vec<Expected>> {
    let rows = query_as!(
        Expected,
        r#"SELECT i.id AS "item: ItemId", i.name, n.share AS "share: Percent", n.goes_to
           FROM breakdown b JOIN cut_list_line n ON n.cut_list = b.cut_list JOIN item i ON i.id = n.item
           WHERE b.id = $1 ORDER BY n.n"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A breakdown in which a cut is, or was, taken apart in its turn.
pub struct Open {
    pub id: BreakdownId,
    pub closed: bool,
}

/// A cut that was weighed and stands.
pub struct Weighed {
    pub seq: Seq,
    pub item: ItemId,
    pub item_name: String,
    pub lot: Option<LotId>,
    pub code: Option<LotCode>,
    pub grams: Grams,
    pub pieces: i16,
    pub goes_to: String,
    pub sales_price: Option<crate::measure::PricePerKg>,
    pub by_product: bool,
    /// Its own breakdown, where there is one.
    pub further: Option<Open>,
}

/// The cuts of a breakdown that stand, in the order of the book.
pub async fn cuts(db: &mut PgConnection, id: BreakdownId) -> Result<Vec<Weighed>> {
    let rows = query!(
        r#"SELECT c.seq AS "seq: Seq", c.item AS "item: ItemId", i.name AS item_name, c.lot AS "lot: LotId",
                  l.code AS "code?: LotCode", c.grams AS "grams: Grams", c.pieces, c.goes_to,
                  i.sales_price AS "sales_price: crate::measure::PricePerKg", i.by_product,
                  f.id AS "further?: BreakdownId", f.closed_by IS NOT NULL AS "further_closed!"
           FROM cut c JOIN item i ON i.id = c.item LEFT JOIN lot l ON l.id = c.lot
           LEFT JOIN LATERAL (SELECT b.id, b.closed_by FROM breakdown b WHERE b.lot = c.lot AND b.struck_by IS NULL
                              ORDER BY b.seq DESC LIMIT 1) f ON true
           WHERE c.breakdown = $1 AND c.struck_by IS NULL ORDER BY c.seq"#,
        id.0
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Weighed {
            seq: row.seq,
            item: row.item,
            item_name: row.item_name,
            lot: row.lot,
            code: row.code,
            grams: row.grams,
            pieces: row.pieces,
            goes_to: row.goes_to,
            sales_price: row.sales_price,
            by_product: row.by_product,
            further: row.further.map(|id| Open { id, closed: row.further_closed }),
        })
        .collect())
}

/// Where the last cut for each use was put, by the word of the use.
pub async fn places_of_last_time(db: &mut PgConnection) -> Result<BTreeMap<String, PlaceId>> {
    let rows = query!(
        r#"SELECT DISTINCT ON (c.goes_to) c.goes_to, p.place AS "place: PlaceId"
           FROM cut c JOIN put p ON p.lot = c.lot AND p.seq = c.seq JOIN place w ON w.id = p.place AND NOT w.retired
           WHERE c.struck_by IS NULL ORDER BY c.goes_to, c.seq DESC"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.goes_to, row.place)).collect())
}

/// The lot that carries the root of this code: what came through the door, of which this is a piece.
pub async fn root_of(db: &mut PgConnection, code: &LotCode) -> Result<Option<LotId>> {
    let root = query_scalar!(
        r#"SELECT id AS "id: LotId" FROM lot WHERE code_day = $1 AND code_number = $2 AND code_piece IS NULL"#,
        code.day(),
        i32::from(code.number())
    );
    Ok(root.fetch_optional(db).await?)
}
