//! Looking up whatever was typed or scanned.

use sqlx::{PgConnection, query};

use super::names::Sort;
use crate::book;
use crate::error::Result;
use crate::ids::LotId;
use crate::measure::LotCode;

/// The most of one sort that a list offers.
const OF_A_SORT: i64 = 12;

/// Something that what was typed may mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// "lot", "supplier", "docket", "ear tag" …
    pub sort: &'static str,
    pub name: String,
    pub note: String,
    pub href: String,
}

/// Everything that the typed text may mean. A code that is on a tag means that lot and nothing else.
pub async fn look_up(db: &mut PgConnection, typed: &str) -> Result<Vec<Hit>> {
    if let Ok(code) = LotCode::parse(typed)
        && let Some(lot) = book::db::lot_by_code(db, &code).await?
    {
        return Ok(vec![lot_hit(lot.id, &lot.code.to_string(), &lot.item_name)]);
    }
    let text = typed.trim().to_lowercase();
    let mut hits = lots(db, &text).await?;
    hits.extend(parties(db, &text).await?);
    hits.extend(dockets(db, &text).await?);
    hits.extend(marks(db, &text).await?);
    Ok(hits)
}

fn lot_hit(lot: LotId, code: &str, item: &str) -> Hit {
    Hit { sort: "lot", name: code.to_owned(), note: item.to_owned(), href: format!("/trace/lots/{lot}") }
}

/// Lots of which the typed text is the beginning of the code.
async fn lots(db: &mut PgConnection, text: &str) -> Result<Vec<Hit>> {
    let rows = query!(
        r#"SELECT id AS "id: LotId", code, item_name FROM lot
           WHERE starts_with(code, $1) AND struck_by IS NULL ORDER BY code_day, code_number, code_piece NULLS FIRST LIMIT $2"#,
        text,
        OF_A_SORT
    );
    let rows = rows.fetch_all(db).await?;
    Ok(rows.iter().map(|row| lot_hit(row.id, &row.code, &row.item_name)).collect())
}

/// Suppliers and customers whose name has it.
async fn parties(db: &mut PgConnection, text: &str) -> Result<Vec<Hit>> {
    let suppliers = query!(
        "SELECT id, name, number FROM supplier WHERE strpos(lower(name), $1) > 0 OR lower(number) = $1
         ORDER BY lower(name) LIMIT $2",
        text,
        OF_A_SORT
    );
    let suppliers = suppliers.fetch_all(&mut *db).await?.into_iter().map(|row| Hit {
        sort: "supplier",
        href: Sort::Supplier.path(&row.id.to_string()),
        name: row.name,
        note: row.number,
    });
    let customers = query!(
        "SELECT id, name FROM customer WHERE strpos(lower(name), $1) > 0 ORDER BY lower(name) LIMIT $2",
        text,
        OF_A_SORT
    );
    let customers = customers.fetch_all(db).await?.into_iter().map(|row| Hit {
        sort: "customer",
        href: format!("/trace/customers/{}", row.id),
        name: row.name,
        note: String::new(),
    });
    Ok(suppliers.chain(customers).collect())
}

/// Deliveries and dispatches by the number on their docket.
async fn dockets(db: &mut PgConnection, text: &str) -> Result<Vec<Hit>> {
    let deliveries = query!(
        "SELECT d.id, d.docket, s.name FROM delivery d JOIN supplier s ON s.id = d.supplier
         WHERE lower(d.docket) = $1 AND d.struck_by IS NULL ORDER BY d.happened_at DESC LIMIT $2",
        text,
        OF_A_SORT
    );
    let deliveries = deliveries.fetch_all(&mut *db).await?.into_iter().map(|row| Hit {
        sort: "delivery docket",
        name: row.docket,
        note: format!("from {}", row.name),
        href: Sort::Delivery.path(&row.id.to_string()),
    });
    let dispatches = query!(
        r#"SELECT d.id AS "id!", d.reference AS "reference!", c.name AS "name?" FROM dispatch d LEFT JOIN customer c ON c.id = d.customer
           WHERE lower(d.reference) = $1 AND d.struck_by IS NULL ORDER BY d.happened_at DESC LIMIT $2"#,
        text,
        OF_A_SORT
    );
    let dispatches = dispatches.fetch_all(db).await?.into_iter().map(|row| Hit {
        sort: "dispatch",
        name: row.reference,
        note: row.name.map_or_else(|| "over the counter".into(), |name| format!("to {name}")),
        href: format!("/trace/dispatches/{}", row.id),
    });
    Ok(deliveries.chain(dispatches).collect())
}

/// What stands on the animal or on the sack. Spaces and hyphens are not asked for: a tag is read in many ways.
async fn marks(db: &mut PgConnection, text: &str) -> Result<Vec<Hit>> {
    let bare: String = text.chars().filter(|c| c.is_alphanumeric()).collect();
    if bare.is_empty() {
        return Ok(Vec::new());
    }
    let rows = query!(
        r#"SELECT DISTINCT m.sort AS "sort!", m.mark AS "mark!", s.name
           FROM received r JOIN supplier s ON s.id = r.supplier
           CROSS JOIN LATERAL (VALUES ('ear tag', r.ear_tag), ('slaughter lot', r.slaughter_lot),
                                      ('supplier lot', r.supplier_lot)) AS m(sort, mark)
           WHERE r.struck_by IS NULL AND r.lot IS NOT NULL AND m.mark <> ''
             AND regexp_replace(lower(m.mark), '[^[:alnum:]]', '', 'g') = $1
           ORDER BY 1, 2 LIMIT $2"#,
        bare,
        OF_A_SORT
    );
    let hits = rows.fetch_all(db).await?.into_iter().map(|row| {
        let (sort, word) = match row.sort.as_str() {
            "ear tag" => (Sort::EarTag, "ear tag"),
            "slaughter lot" => (Sort::SlaughterLot, "slaughter lot"),
            _ => (Sort::SupplierLot, "supplier lot"),
        };
        Hit { sort: word, href: sort.path(&row.mark), name: row.mark, note: format!("from {}", row.name) }
    });
    Ok(hits.collect())
}
