//! Samples, and the imports that brought them.

use std::collections::HashMap;

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;

use crate::book::{Project, Seq, Written, chain};
use crate::checks::{Quantity, Value};
use crate::error::Result;
use crate::ids::{ImportId, PlaceId};
use crate::loggers::entry::{Sample, SamplesSealed};

impl Project for SamplesSealed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let count = i32::try_from(self.count).map_err(anyhow::Error::from)?;
        query!(
            "INSERT INTO sample_import (id, place, logger, source, samples, first_at, last_at, sha256, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, decode($8, 'hex'), $9)",
            self.import.0,
            self.place.id.0,
            self.logger.as_ref().map(|logger| logger.id.0),
            self.source,
            count,
            self.from,
            self.to,
            self.sha256,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE sample_import SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

/// Writes samples of one place beside the entry that seals them, a statement for each quantity.
pub async fn write(
    db: &mut PgConnection,
    place: PlaceId,
    import: ImportId,
    samples: &[Sample],
) -> Result<()> {
    for of_one in samples.chunk_by(|a, b| a.value.quantity() == b.value.quantity()) {
        let Some(first) = of_one.first() else { continue };
        let times: Vec<OffsetDateTime> = of_one.iter().map(|sample| sample.at).collect();
        let values: Vec<Decimal> = of_one.iter().map(|sample| sample.value.decimal()).collect();
        query!(
            "INSERT INTO sample (place, quantity, at, value, import)
             SELECT $1, $2, u.at, u.value, $3 FROM unnest($4::timestamptz[], $5::numeric[]) AS u(at, value)",
            place.0,
            first.value.quantity().word(),
            import.0,
            &times,
            &values
        )
        .execute(&mut *db)
        .await?;
    }
    Ok(())
}

/// What stands in the book for a place between two moments, both included.
pub async fn known(
    db: &mut PgConnection,
    place: PlaceId,
    from: OffsetDateTime,
    to: OffsetDateTime,
) -> Result<HashMap<(Quantity, OffsetDateTime), Decimal>> {
    let rows = query!(
        r#"SELECT quantity AS "quantity!: Quantity", at AS "at!", value AS "value!" FROM sample_standing
           WHERE place = $1 AND at BETWEEN $2 AND $3"#,
        place.0,
        from,
        to
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| ((row.quantity, row.at), row.value)).collect())
}

/// Whether a deviation of this quantity stands open on a place: what is out of limits there belongs to it.
pub async fn deviation_stands(db: &mut PgConnection, place: PlaceId, quantity: Quantity) -> Result<bool> {
    Ok(query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM deviation d JOIN reading r ON r.seq = d.seq
                          WHERE d.place = $1 AND r.quantity = $2 AND d.closed_by IS NULL
                            AND d.struck_by IS NULL) AS "stands!""#,
        place.0,
        quantity.word()
    )
    .fetch_one(db)
    .await?)
}

/// An import as pages show it.
#[derive(Debug, Clone)]
pub struct Import {
    pub id: ImportId,
    pub place: PlaceId,
    pub place_name: String,
    pub logger: Option<String>,
    pub source: String,
    pub samples: i32,
    pub first_at: OffsetDateTime,
    pub last_at: OffsetDateTime,
    pub sha256: Vec<u8>,
    pub struck: bool,
    pub seq: Seq,
    pub initials: String,
    pub person: String,
    pub at: OffsetDateTime,
}

impl Import {
    pub fn seal(&self) -> String {
        chain::hex(&self.sha256)
    }
}

/// `query_as!` takes its text literally, so what both readings share stands here once.
macro_rules! imports {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            Import,
            r#"SELECT i.id AS "id: ImportId", i.place AS "place: PlaceId", p.name AS place_name, g.name AS "logger?",
                      i.source, i.samples, i.first_at, i.last_at, i.sha256, i.struck_by IS NOT NULL AS "struck!",
                      i.seq AS "seq: Seq", coalesce(w.initials, '') AS "initials!", coalesce(w.name, '') AS "person!",
                      e.recorded_at AS at
               FROM sample_import i JOIN place p ON p.id = i.place JOIN entry e ON e.seq = i.seq
               LEFT JOIN signer w ON w.id = e.person LEFT JOIN logger g ON g.id = i.logger "# + $tail
            $(, $arg)*
        )
    };
}

/// The latest imports.
pub async fn imports(db: &mut PgConnection, limit: i64) -> Result<Vec<Import>> {
    Ok(imports!("ORDER BY i.seq DESC LIMIT $1", limit).fetch_all(db).await?)
}

/// One import.
pub async fn import(db: &mut PgConnection, id: ImportId) -> Result<Option<Import>> {
    Ok(imports!("WHERE i.id = $1", id.0).fetch_optional(db).await?)
}

/// The samples of an import, in the order of its canonical text.
pub async fn samples_of(db: &mut PgConnection, import: ImportId) -> Result<Vec<Sample>> {
    let rows = query!(
        r#"SELECT quantity AS "quantity: Quantity", at, value FROM sample WHERE import = $1 ORDER BY quantity COLLATE "C", at"#,
        import.0
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let value = Value::of(row.quantity, row.value).map_err(anyhow::Error::from)?;
            Ok(Sample { at: row.at, value })
        })
        .collect()
}
