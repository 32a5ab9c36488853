//! What verify asks of the database. Table names come from the database's own catalogue, never from a person.

use sqlx::{AssertSqlSafe, PgConnection, Row as _, query, query_scalar};

use crate::book::effects::{Account, Movement, Side};
use crate::book::entry::Seq;
use crate::error::Result;
use crate::ids::LotId;
use crate::measure::Grams;

/// A row that stands in one book and not in the other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    pub table: String,
    /// The entry that wrote the row, where the table says so.
    pub seq: Option<Seq>,
    pub row: String,
    /// Whether the row stands in the live tables; otherwise only the replay has it.
    pub live: bool,
}

/// Makes the transaction read one snapshot for as long as it takes; returns the schema that the live tables are in.
pub async fn one_snapshot(db: &mut PgConnection) -> Result<String> {
    sqlx::raw_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ; SET LOCAL statement_timeout = 0")
        .execute(&mut *db)
        .await?;
    Ok(query_scalar!(r#"SELECT current_schema()::text AS "name!""#).fetch_one(db).await?)
}

/// All movements, in the order of the book.
pub async fn movements(db: &mut PgConnection) -> Result<Vec<(Seq, Movement)>> {
    let rows = query!(
        r#"SELECT seq AS "seq: Seq", lot AS "lot: LotId", account AS "account: Account", party, grams AS "grams: Grams"
           FROM movement ORDER BY seq, n"#
    )
    .fetch_all(db)
    .await?;
    let mut all = Vec::with_capacity(rows.len());
    for row in rows {
        let side = match (row.lot, row.account) {
            (Some(lot), _) => Side::Lot(lot),
            (None, Some(account)) => Side::Account(account, row.party),
            (None, None) => return Err(anyhow::anyhow!("a movement of entry {} has no side", row.seq).into()),
        };
        all.push((row.seq, Movement { side, grams: row.grams }));
    }
    Ok(all)
}

/// Every lot whose balance is not the sum of its movements.
pub async fn weigh_everything(db: &mut PgConnection) -> Result<Vec<(Seq, String, Grams, Grams)>> {
    let rows = query!(
        r#"SELECT l.seq AS "seq: Seq", l.code, l.grams AS "says: Grams",
                  coalesce(m.grams, 0) AS "is!: Grams"
           FROM lot l LEFT JOIN (SELECT lot, sum(grams) AS grams FROM movement WHERE lot IS NOT NULL GROUP BY lot) m
                ON m.lot = l.id
           WHERE l.grams <> coalesce(m.grams, 0) OR l.grams < 0 ORDER BY l.seq"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.seq, row.code, row.says, row.is)).collect())
}

/// Makes an empty schema with the program's tables and writes into it from here on, until the transaction ends.
pub async fn scratch_schema(db: &mut PgConnection, migrations: &[&str]) -> Result<()> {
    sqlx::raw_sql("CREATE SCHEMA replayed; SET LOCAL search_path = replayed").execute(&mut *db).await?;
    for migration in migrations {
        sqlx::raw_sql(AssertSqlSafe(*migration)).execute(&mut *db).await?;
    }
    Ok(())
}

/// The tables that follow from the book, by name: all but those that say of themselves that they are no evidence, and
/// those that an entry seals, which are looked at by their seal.
pub async fn projections(db: &mut PgConnection) -> Result<Vec<String>> {
    let names = query_scalar!(
        r#"SELECT c.relname AS "name!" FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
           WHERE n.nspname = 'replayed' AND c.relkind = 'r'
             AND coalesce(obj_description(c.oid, 'pg_class'), '') <> 'no evidence'
             AND coalesce(obj_description(c.oid, 'pg_class'), '') NOT LIKE 'sealed by %'
           ORDER BY c.relname"#
    )
    .fetch_all(db)
    .await?;
    Ok(names)
}

/// The rows of a table that stand only in the schema `live`, or only in the replay; at most `limit` of each.
pub async fn compare(db: &mut PgConnection, live: &str, table: &str, limit: i64) -> Result<Vec<Difference>> {
    let ours = query_scalar!(r#"SELECT quote_ident($1) AS "name!""#, live).fetch_one(&mut *db).await?;
    let name = query_scalar!(r#"SELECT quote_ident($1) AS "name!""#, table).fetch_one(&mut *db).await?;
    let sql = format!(
        "(SELECT true AS live, to_jsonb(a) AS row FROM (TABLE {ours}.{name} EXCEPT TABLE replayed.{name}) a LIMIT $1)
         UNION ALL
         (SELECT false, to_jsonb(b) FROM (TABLE replayed.{name} EXCEPT TABLE {ours}.{name}) b LIMIT $1)"
    );
    let sql =
        format!("SELECT live, (row->>'seq')::bigint AS seq, row::text AS row FROM ({sql}) d ORDER BY 2, 1");
    // The names were quoted by the database itself, above.
    let rows = query(AssertSqlSafe(sql)).bind(limit).fetch_all(db).await?;
    rows.into_iter()
        .map(|row| {
            Ok(Difference {
                table: table.to_owned(),
                seq: row.try_get::<Option<i64>, _>("seq")?.map(Seq),
                row: row.try_get("row")?,
                live: row.try_get("live")?,
            })
        })
        .collect()
}
