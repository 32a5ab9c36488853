//! Readings and the verdicts on them, as pages and other areas read them.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::Seq;
use crate::checks::entry::{Quantity, Value};
use crate::deviations::On;
use crate::error::Result;
use crate::ids::{CheckId, LimitId, PlaceId};

/// A reading that stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    pub seq: Seq,
    pub value: Value,
    pub at: OffsetDateTime,
    /// What it was measured with; empty where nothing was said.
    pub instrument: String,
    /// Whether it met the limits that were in force; `None` where there were none.
    pub met: Option<bool>,
}

struct ReadingRow {
    seq: Seq,
    quantity: Quantity,
    value: Decimal,
    at: OffsetDateTime,
    instrument: Option<String>,
    met: Option<bool>,
}

/// The readings of one thing from one moment up to another, in the order in which they were taken.
pub async fn readings_of(
    db: &mut PgConnection,
    on: On,
    from: OffsetDateTime,
    to: OffsetDateTime,
) -> Result<Vec<Reading>> {
    let rows = query_as!(
        ReadingRow,
        r#"SELECT r.seq AS "seq: Seq", r.quantity AS "quantity: Quantity", r.value, r.at, i.name AS "instrument?",
                  (SELECT bool_and(c.met) FROM check_record c WHERE c.seq = r.seq) AS met
           FROM reading r LEFT JOIN instrument i ON i.id = r.instrument
           WHERE (r.place = $1 OR r.lot = $2 OR r.batch = $3) AND r.struck_by IS NULL AND r.at >= $4 AND r.at < $5
           ORDER BY r.at, r.seq"#,
        on.place(),
        on.lot(),
        on.batch(),
        from,
        to
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let value = Value::of(row.quantity, row.value).map_err(anyhow::Error::from)?;
            let instrument = row.instrument.unwrap_or_default();
            Ok(Reading { seq: row.seq, value, at: row.at, instrument, met: row.met })
        })
        .collect()
}

/// Which records a page asks for.
#[derive(Debug, Clone, Copy, Default)]
pub struct Filter {
    pub place: Option<PlaceId>,
    pub limit: Option<LimitId>,
    /// Only those out of limits.
    pub out: bool,
    /// Only those before this entry.
    pub before: Option<Seq>,
}

/// A reading or a check as a line of the record, struck or not.
#[derive(Debug, Clone)]
pub struct Record {
    pub seq: Seq,
    pub place: Option<Uuid>,
    pub lot: Option<Uuid>,
    pub batch: Option<Uuid>,
    /// What it was taken on, by its name or its code.
    pub name: String,
    pub quantity: Quantity,
    pub value: Decimal,
    pub at: OffsetDateTime,
    pub instrument: String,
    pub initials: String,
    pub person: String,
    pub deviation: Option<Uuid>,
    pub struck: bool,
}

/// The latest records first.
pub async fn records(db: &mut PgConnection, filter: Filter, limit: i64) -> Result<Vec<Record>> {
    let rows = query_as!(
        Record,
        r#"SELECT r.seq AS "seq: Seq", r.place, r.lot, r.batch, coalesce(p.name, l.code, b.code) AS "name!",
                  r.quantity AS "quantity: Quantity", r.value, r.at, coalesce(i.name, '') AS "instrument!",
                  coalesce(w.initials, '') AS "initials!", coalesce(w.name, '') AS "person!",
                  d.id AS "deviation?", r.struck_by IS NOT NULL AS "struck!"
           FROM reading r
           JOIN entry e ON e.seq = r.seq
           LEFT JOIN signer w ON w.id = e.person
           LEFT JOIN place p ON p.id = r.place
           LEFT JOIN lot l ON l.id = r.lot
           LEFT JOIN batch b ON b.id = r.batch
           LEFT JOIN instrument i ON i.id = r.instrument
           LEFT JOIN deviation d ON d.seq = r.seq
           WHERE ($1::uuid IS NULL OR r.place = $1)
             AND ($2::uuid IS NULL OR EXISTS (SELECT 1 FROM check_record c WHERE c.seq = r.seq AND c.check_limit = $2))
             AND (NOT $3 OR EXISTS (SELECT 1 FROM check_record c WHERE c.seq = r.seq AND NOT c.met))
             AND ($4::bigint IS NULL OR r.seq < $4)
           ORDER BY r.seq DESC LIMIT $5"#,
        filter.place.map(|place| place.0),
        filter.limit.map(|limit| limit.0),
        filter.out,
        filter.before.map(|seq| seq.0),
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// A limit as it was in force, and whether it was met.
#[derive(Debug, Clone)]
pub struct Verdict {
    pub seq: Seq,
    pub limit: LimitId,
    pub limit_name: String,
    pub least: Option<Decimal>,
    pub most: Option<Decimal>,
    pub source: String,
    pub met: bool,
}

/// The verdicts of several records, in the order of the limits of each.
pub async fn verdicts(db: &mut PgConnection, records: &[Seq]) -> Result<Vec<Verdict>> {
    let seqs: Vec<i64> = records.iter().map(|seq| seq.0).collect();
    let rows = query_as!(
        Verdict,
        r#"SELECT seq AS "seq: Seq", check_limit AS "limit: LimitId", limit_name, least, most, source, met
           FROM check_record WHERE seq = ANY($1) ORDER BY seq, n"#,
        &seqs
    );
    Ok(rows.fetch_all(db).await?)
}

/// The entry of a check.
pub async fn seq_of_check(db: &mut PgConnection, check: CheckId) -> Result<Option<Seq>> {
    let seq = query_scalar!(r#"SELECT seq AS "seq: Seq" FROM check_record WHERE id = $1 LIMIT 1"#, check.0);
    Ok(seq.fetch_optional(db).await?)
}
