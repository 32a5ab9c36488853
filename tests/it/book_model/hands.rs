//! Hands that reach into the tables behind the book's back.

use std::collections::BTreeMap;

use proptest::prelude::*;
use sqlx::{AssertSqlSafe, Row as _};

use crate::shop::Shop;

/// A hand in the tables, with every trigger switched off.
#[derive(Debug, Clone)]
pub enum Hand {
    Change { table: usize, column: usize, row: usize },
    Remove { table: usize, row: usize },
    Swap { a: i64, b: i64 },
}

pub fn hands() -> impl Strategy<Value = Hand> {
    let (table, column, row) = (0_usize..1000, 0_usize..1000, 0_usize..1000);
    prop_oneof![
        4 => (table.clone(), column, row.clone()).prop_map(|(table, column, row)| Hand::Change { table, column, row }),
        2 => (table, row).prop_map(|(table, row)| Hand::Remove { table, row }),
        1 => (1_i64..20, 1_i64..20).prop_map(|(a, b)| Hand::Swap { a, b }),
    ]
}

/// Lays a hand on the tables in a copy of the book's schema that is thrown away, and asks verify.
pub async fn tamper(shop: &Shop, hand: &Hand) {
    let pool = &shop.app.book.pool;
    let Some(sql) = sql_of(shop, hand).await else { return };
    let before = dump(shop).await;
    let off = format!("SET session_replication_role = replica; {sql}; SET session_replication_role = origin");
    if sqlx::raw_sql(AssertSqlSafe(off)).execute(pool).await.is_err() {
        // A CHECK or a key of the table itself stood in the way: that is found even sooner.
        sqlx::raw_sql("SET session_replication_role = origin").execute(pool).await.unwrap();
        return;
    }
    if dump(shop).await == before {
        return;
    }
    assert!(!shop.verify().await.findings.is_empty(), "nobody found: {sql}");
    // What was found once stays found: the next hand is laid on the same book.
}

/// Every table that follows from the book, with its columns and what makes another value of each.
const COLUMNS: &str = r"
    SELECT c.relname AS name, a.attname AS column, format_type(a.atttypid, NULL) AS type
    FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace JOIN pg_attribute a ON a.attrelid = c.oid
    WHERE n.nspname = 'public' AND c.relkind = 'r' AND a.attnum > 0 AND NOT a.attisdropped
      AND coalesce(obj_description(c.oid, 'pg_class'), '') <> 'no evidence' AND c.relname NOT LIKE '\_%'
    ORDER BY 1, 2";

async fn sql_of(shop: &Shop, hand: &Hand) -> Option<String> {
    let pool = &shop.app.book.pool;
    let mut tables: BTreeMap<String, Vec<(String, String)>> = BTreeMap::new();
    for row in sqlx::query(COLUMNS).fetch_all(pool).await.unwrap() {
        tables.entry(row.get("name")).or_default().push((row.get("column"), row.get("type")));
    }
    let mut filled = Vec::new();
    for (table, columns) in tables {
        let count = format!("SELECT count(*) FROM {table}");
        let rows: i64 = sqlx::query_scalar(AssertSqlSafe(count)).fetch_one(pool).await.unwrap();
        if rows > 0 {
            filled.push((table, columns, usize::try_from(rows).unwrap()));
        }
    }
    let one = |row: usize, table: &str, rows: usize| {
        format!("ctid = (SELECT ctid FROM {table} ORDER BY ctid LIMIT 1 OFFSET {})", row % rows)
    };
    match *hand {
        Hand::Remove { table, row } => {
            let (table, _, rows) = &filled[table % filled.len()];
            Some(format!("DELETE FROM {table} WHERE {}", one(row, table, *rows)))
        }
        Hand::Change { table, column, row } => {
            let (table, columns, rows) = &filled[table % filled.len()];
            let (column, sort) = &columns[column % columns.len()];
            let other = another(column, sort)?;
            Some(format!("UPDATE {table} SET {column} = {other} WHERE {}", one(row, table, *rows)))
        }
        Hand::Swap { a, b } if a != b => Some(format!(
            "UPDATE entry SET seq = 1000000 WHERE seq = {a}; UPDATE entry SET seq = {a} WHERE seq = {b};
             UPDATE entry SET seq = {b} WHERE seq = 1000000"
        )),
        Hand::Swap { .. } => None,
    }
}

/// An expression that gives another value of a column.
fn another(column: &str, sort: &str) -> Option<String> {
    Some(match sort {
        "bigint" | "integer" | "smallint" | "numeric" => format!("coalesce({column}, 0) + 1"),
        "text" => format!("coalesce({column}, '') || 'x'"),
        "uuid" => format!("md5(coalesce({column}::text, ''))::uuid"),
        "boolean" => format!("NOT coalesce({column}, false)"),
        "timestamp with time zone" => format!("coalesce({column}, 'epoch') + interval '1 hour'"),
        "date" => format!("coalesce({column}, 'epoch') + 1"),
        "bytea" => format!("set_byte({column}, 0, (get_byte({column}, 0) + 1) % 256)"),
        "text[]" => format!("array_append({column}, 'x')"),
        _ => return None,
    })
}

/// The book and its projections as one text.
async fn dump(shop: &Shop) -> String {
    let pool = &shop.app.book.pool;
    let all = "SELECT coalesce(md5(string_agg(query_to_xml(format('TABLE %I', c.relname), true, false, '')::text, '' \
               ORDER BY c.relname)), '') FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace \
               WHERE n.nspname = 'public' AND c.relkind = 'r'";
    sqlx::query_scalar(all).fetch_one(pool).await.unwrap()
}
