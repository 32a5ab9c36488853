//! Reading cut lists.

use sqlx::{PgConnection, query_as, query_scalar};

use crate::book::Form;
use crate::error::Result;
use crate::ids::{CutListId, ItemId};
use crate::measure::Percent;

/// A cut list.
pub struct CutList {
    pub id: CutListId,
    pub name: String,
    pub sources: Vec<Form>,
    pub tolerance: Percent,
    pub retired: bool,
    pub cuts: i64,
    /// What it expects to recover of the source.
    pub sum: Percent,
}

/// The cut lists by name, those in use first; those no longer used are left out unless asked for.
pub async fn cut_lists(db: &mut PgConnection, retired_too: bool) -> Result<Vec<CutList>> {
    let rows = query_as!(
        CutList,
        r#"SELECT c.id AS "id: CutListId", c.name, c.sources AS "sources: Vec<Form>", c.tolerance AS "tolerance: Percent",
                  c.retired, count(n.n) AS "cuts!", coalesce(sum(n.share), 0) AS "sum!: Percent"
           FROM cut_list c LEFT JOIN cut_list_line n ON n.cut_list = c.id
           WHERE $1 OR NOT c.retired GROUP BY c.id ORDER BY c.retired, lower(c.name)"#,
        retired_too
    );
    Ok(rows.fetch_all(db).await?)
}

/// One cut list, in use or not.
pub async fn cut_list(db: &mut PgConnection, id: CutListId) -> Result<Option<CutList>> {
    let row = query_as!(
        CutList,
        r#"SELECT c.id AS "id: CutListId", c.name, c.sources AS "sources: Vec<Form>", c.tolerance AS "tolerance: Percent",
                  c.retired, count(n.n) AS "cuts!", coalesce(sum(n.share), 0) AS "sum!: Percent"
           FROM cut_list c LEFT JOIN cut_list_line n ON n.cut_list = c.id
           WHERE c.id = $1 GROUP BY c.id"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// A line of a cut list.
pub struct CutListLine {
    pub item: ItemId,
    pub share: Percent,
    pub goes_to: String,
}

/// The lines of a cut list, in its order.
pub async fn cut_list_lines(db: &mut PgConnection, id: CutListId) -> Result<Vec<CutListLine>> {
    let rows = query_as!(
        CutListLine,
        r#"SELECT item AS "item: ItemId", share AS "share: Percent", goes_to
           FROM cut_list_line WHERE cut_list = $1 ORDER BY n"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// The cut list by which the last source of this sort was broken down, where it is still in use.
pub async fn list_of_last_time(db: &mut PgConnection, source: ItemId) -> Result<Option<CutListId>> {
    let id = query_scalar!(
        r#"SELECT c.id AS "id: CutListId"
           FROM breakdown b JOIN lot l ON l.id = b.lot JOIN cut_list c ON c.id = b.cut_list
           WHERE l.item = $1 AND b.struck_by IS NULL AND NOT c.retired
           ORDER BY b.opened_at DESC LIMIT 1"#,
        source.0
    );
    Ok(id.fetch_optional(db).await?)
}
