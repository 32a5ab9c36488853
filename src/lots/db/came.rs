//! The two walks along the movements: back to where a lot came from, and one step on to what became of it.

use sqlx::{PgConnection, query_as};
use uuid::Uuid;

use crate::book::{Account, Form};
use crate::error::Result;
use crate::ids::{BatchId, LotId, SupplierId};
use crate::measure::{Grams, LotCode};

/// A lot that another was made from, at any number of steps back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The lot that was made.
    pub made: LotId,
    pub lot: LotId,
    pub code: LotCode,
    pub form: Form,
    pub item_name: String,
    /// All that ever came into the source.
    pub came_in: Grams,
    /// The batch that the source is the mix of.
    pub batch: Option<BatchId>,
    pub version: Option<i32>,
    pub supplier: Option<SupplierId>,
    pub supplier_name: Option<String>,
    pub ear_tag: Option<String>,
}

/// Every step back from a lot, by one walk over the movements. Struck entries and what they gave back are left out.
pub async fn came_from(db: &mut PgConnection, lot: LotId) -> Result<Vec<Source>> {
    let rows = query_as!(
        Source,
        r#"WITH RECURSIVE
           step AS (
               SELECT DISTINCT i.lot AS made, o.lot AS source
               FROM movement i JOIN movement o ON o.seq = i.seq AND o.grams < 0 AND o.lot IS NOT NULL
               WHERE i.lot = $1 AND i.grams > 0
                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = i.seq)
                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = i.seq)
               UNION
               SELECT i.lot, o.lot
               FROM step
               JOIN movement i ON i.lot = step.source AND i.grams > 0
               JOIN movement o ON o.seq = i.seq AND o.grams < 0 AND o.lot IS NOT NULL
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = i.seq)
                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = i.seq)
           )
           SELECT step.made AS "made!: LotId", l.id AS "lot: LotId", l.code AS "code: LotCode", l.form AS "form: Form",
                  l.item_name,
                  coalesce((SELECT sum(m.grams) FROM movement m WHERE m.lot = l.id AND m.grams > 0
                            AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = m.seq)
                            AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = m.seq)), 0) AS "came_in!: Grams",
                  b.id AS "batch?: BatchId", b.version AS "version?", r.supplier AS "supplier?: SupplierId",
                  u.name AS "supplier_name?", r.ear_tag AS "ear_tag?"
           FROM step
           JOIN lot l ON l.id = step.source
           LEFT JOIN batch b ON b.mix = l.id AND b.struck_by IS NULL
           LEFT JOIN received r ON r.lot = l.id AND r.struck_by IS NULL
           LEFT JOIN supplier u ON u.id = r.supplier
           ORDER BY l.code_day, l.code_number, l.code_piece"#,
        lot.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// What came out of a lot: another lot, or weight that left the lots.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Became {
    pub lot: Option<LotId>,
    pub code: Option<LotCode>,
    pub form: Option<Form>,
    pub item_name: Option<String>,
    pub account: Option<Account>,
    pub party: Option<Uuid>,
    pub party_name: Option<String>,
    /// `None` where several lots went into several and no share can be told.
    pub grams: Option<Grams>,
    /// What is left of it, where it is a lot.
    pub on_hand: Option<Grams>,
}

/// What became of a lot, one step on: the lots made from it in the order of their codes, then where the rest went.
pub async fn became(db: &mut PgConnection, lot: LotId) -> Result<Vec<Became>> {
    let rows = query_as!(
        Became,
        r#"SELECT l.id AS "lot?: LotId", l.code AS "code?: LotCode", l.form AS "form?: Form", l.item_name AS "item_name?",
                  i.account AS "account: Account", i.party, c.name AS "party_name?",
                  CASE WHEN bool_or(n.takes > 1 AND n.gives > 1) THEN NULL
                       ELSE sum(least(i.grams, -o.grams)) END AS "grams: Grams",
                  l.grams AS "on_hand?: Grams"
           FROM movement o
           JOIN movement i ON i.seq = o.seq AND i.grams > 0 AND i.lot IS DISTINCT FROM o.lot
           CROSS JOIN LATERAL (SELECT count(*) FILTER (WHERE m.grams < 0) AS takes,
                                      count(*) FILTER (WHERE m.grams > 0) AS gives
                               FROM movement m WHERE m.seq = o.seq) n
           LEFT JOIN lot l ON l.id = i.lot
           LEFT JOIN customer c ON c.id = i.party
           WHERE o.lot = $1 AND o.grams < 0
             AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = o.seq)
             AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = o.seq)
           GROUP BY l.id, i.account, i.party, c.name
           ORDER BY l.id IS NULL, l.code_day, l.code_number, l.code_piece, i.account"#,
        lot.0
    );
    Ok(rows.fetch_all(db).await?)
}
