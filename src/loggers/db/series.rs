//! What is known of a place over time: samples and readings by hand, as one series.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;

use crate::checks::Quantity;
use crate::error::Result;
use crate::ids::PlaceId;

/// Every value of a quantity of a place from one moment up to another, samples and readings by hand together, in the
/// order of time. Where both stand for one moment, both are given. What was struck is left out.
pub async fn series(
    db: &mut PgConnection,
    place: PlaceId,
    quantity: Quantity,
    from: OffsetDateTime,
    to: OffsetDateTime,
) -> Result<Vec<(OffsetDateTime, Decimal)>> {
    let rows = query!(
        r#"SELECT at AS "at!", value AS "value!" FROM (
               SELECT at, value FROM sample_standing WHERE place = $1 AND quantity = $2 AND at >= $3 AND at < $4
               UNION ALL
               SELECT at, value FROM reading
               WHERE place = $1 AND quantity = $2 AND at >= $3 AND at < $4 AND struck_by IS NULL) v
           ORDER BY at, value"#,
        place.0,
        quantity.word(),
        from,
        to
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.at, row.value)).collect())
}

/// What was measured in a stretch of a series: enough to draw it without losing a peak.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bucket {
    /// Which of the stretches it is, from 1 on.
    pub stretch: i32,
    pub first: OffsetDateTime,
    pub last: OffsetDateTime,
    pub least: Decimal,
    pub most: Decimal,
    /// The mean of the stretch, for a line through it.
    pub mean: Decimal,
    pub values: i64,
}

/// The same series in at most so many stretches of equal time; a stretch in which nothing was measured is left out. The
/// database thins it, so that a year of samples does not travel.
pub async fn thinned(
    db: &mut PgConnection,
    place: PlaceId,
    quantity: Quantity,
    from: OffsetDateTime,
    to: OffsetDateTime,
    stretches: i32,
) -> Result<Vec<Bucket>> {
    let rows = query_as!(
        Bucket,
        r#"SELECT width_bucket(extract(epoch FROM v.at), extract(epoch FROM $3::timestamptz),
                               extract(epoch FROM $4::timestamptz), $5) AS "stretch!",
                  min(at) AS "first!", max(at) AS "last!", min(value) AS "least!", max(value) AS "most!",
                  round(avg(value), 2) AS "mean!", count(*) AS "values!"
           FROM (
               SELECT at, value FROM sample_standing WHERE place = $1 AND quantity = $2 AND at >= $3 AND at < $4
               UNION ALL
               SELECT at, value FROM reading
               WHERE place = $1 AND quantity = $2 AND at >= $3 AND at < $4 AND struck_by IS NULL) v
           GROUP BY 1 ORDER BY 1"#,
        place.0,
        quantity.word(),
        from,
        to,
        stretches
    );
    Ok(rows.fetch_all(db).await?)
}

/// Where the air of a place is measured: in the place itself, or in the one that it is in where nothing ever was.
pub async fn measured_in(db: &mut PgConnection, place: PlaceId) -> Result<PlaceId> {
    let measured = query_scalar!(
        r#"SELECT coalesce(
               (SELECT $1::uuid WHERE EXISTS (SELECT 1 FROM sample_standing s WHERE s.place = $1)
                   OR EXISTS (SELECT 1 FROM reading r WHERE r.place = $1 AND r.struck_by IS NULL
                              AND r.quantity IN ('temperature', 'humidity'))),
               (SELECT p.within FROM place p WHERE p.id = $1), $1) AS "place!: PlaceId""#,
        place.0
    );
    Ok(measured.fetch_one(db).await?)
}

/// A stretch of time in which every value was past a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excursion {
    pub first: OffsetDateTime,
    pub last: OffsetDateTime,
    pub least: Decimal,
    pub most: Decimal,
    pub values: i64,
}

/// The stretches in which a quantity of a place was under `least` or over `most`, the last one first: from the first value
/// past the limit to the last one before it was met again. Exactly at the limit is met.
pub async fn excursions(
    db: &mut PgConnection,
    place: PlaceId,
    quantity: Quantity,
    ends: (Option<Decimal>, Option<Decimal>),
    span: (OffsetDateTime, OffsetDateTime),
    limit: i64,
) -> Result<Vec<Excursion>> {
    let rows = query_as!(
        Excursion,
        r#"WITH v AS (
               SELECT at, value FROM sample_standing WHERE place = $1 AND quantity = $2 AND at >= $5 AND at < $6
               UNION ALL
               SELECT at, value FROM reading
               WHERE place = $1 AND quantity = $2 AND at >= $5 AND at < $6 AND struck_by IS NULL
           ), held AS (
               SELECT at, value, coalesce(value < $3, false) OR coalesce(value > $4, false) AS past FROM v
           ), turned AS (
               SELECT at, value, past, count(*) FILTER (WHERE NOT past) OVER (ORDER BY at, value) AS met FROM held
           )
           SELECT min(at) AS "first!", max(at) AS "last!", min(value) AS "least!", max(value) AS "most!",
                  count(*) AS "values!"
           FROM turned WHERE past GROUP BY met ORDER BY 1 DESC LIMIT $7"#,
        place.0,
        quantity.word(),
        ends.0,
        ends.1,
        span.0,
        span.1,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}
