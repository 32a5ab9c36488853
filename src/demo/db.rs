//! What the teller looks up to fill in a form, as a person would read it off the page. It writes nothing.

use sqlx::{PgConnection, query, query_scalar};

use crate::error::Result;
use crate::ids::{BatchId, DeviationId, LotId};
use crate::measure::Grams;

/// Everything that has a name in the shop: things, places, cut lists, recipes, suppliers, customers, people, instruments,
/// plans, limits.
pub async fn named(db: &mut PgConnection) -> Result<Vec<(String, String)>> {
    let rows = query!(
        r#"SELECT 'item ' || name AS "name!", id AS "id!" FROM item
           UNION ALL SELECT 'place ' || name, id FROM place
           UNION ALL SELECT 'cut list ' || name, id FROM cut_list
           UNION ALL SELECT 'recipe ' || name, id FROM recipe
           UNION ALL SELECT 'supplier ' || name, id FROM supplier
           UNION ALL SELECT 'customer ' || name, id FROM customer
           UNION ALL SELECT 'person ' || name, id FROM person
           UNION ALL SELECT 'instrument ' || name, id FROM instrument
           UNION ALL SELECT 'plan ' || name, id FROM plan
           UNION ALL SELECT 'limit ' || name, id FROM check_limit"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.name, row.id.to_string())).collect())
}

/// A lot that holds something.
#[derive(Debug, Clone)]
pub struct Lying {
    pub id: LotId,
    pub code: String,
    pub grams: Grams,
}

impl Lying {
    /// Its number among the pieces of its batch; 0 for what is no piece.
    pub fn number(&self) -> i64 {
        self.code.rsplit_once('.').and_then(|(_, number)| number.parse().ok()).unwrap_or(0)
    }
}

/// The lots of one thing that hold something, the oldest first.
pub async fn lying(db: &mut PgConnection, item: &str) -> Result<Vec<Lying>> {
    let rows = sqlx::query_as!(
        Lying,
        r#"SELECT id AS "id: LotId", code, grams AS "grams: Grams" FROM lot
           WHERE item_name = $1 AND grams > 0 AND struck_by IS NULL ORDER BY seq"#,
        item
    );
    Ok(rows.fetch_all(db).await?)
}

/// The lots with these codes that hold something.
pub async fn by_code(db: &mut PgConnection, codes: &[String]) -> Result<Vec<Lying>> {
    let rows = sqlx::query_as!(
        Lying,
        r#"SELECT id AS "id: LotId", code, grams AS "grams: Grams" FROM lot
           WHERE code = ANY($1) AND grams > 0 ORDER BY code_day, code_number, code_piece"#,
        codes
    );
    Ok(rows.fetch_all(db).await?)
}

/// The pieces of a batch by code, with their green weight as `grams`.
pub async fn pieces(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Lying>> {
    let rows = sqlx::query_as!(
        Lying,
        r#"SELECT l.id AS "id: LotId", l.code, p.green AS "grams: Grams" FROM piece p JOIN lot l ON l.id = p.lot
           WHERE p.batch = $1 AND p.struck_by IS NULL AND l.grams > 0 ORDER BY l.code_piece"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// The deviation that was opened last.
pub async fn last_deviation(db: &mut PgConnection) -> Result<Option<DeviationId>> {
    let id = query_scalar!(r#"SELECT id AS "id: DeviationId" FROM deviation ORDER BY seq DESC LIMIT 1"#);
    Ok(id.fetch_optional(db).await?)
}

/// The number of the last line in the book.
pub async fn last_line(db: &mut PgConnection) -> Result<i64> {
    Ok(query_scalar!(r#"SELECT coalesce(max(seq), 0) AS "seq!" FROM entry"#).fetch_one(db).await?)
}
