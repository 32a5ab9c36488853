//! SQL of what waits and belongs to no page that could be asked: open breakdowns, ingredients near the end of their
//! time.

use sqlx::{PgConnection, query_as, query_scalar};
use time::{Date, OffsetDateTime};

use crate::error::Result;
use crate::ids::{BreakdownId, LotId};
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
