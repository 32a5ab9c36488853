//! What is known of a place over time: samples and readings by hand, as one series.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_as};
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
        r#"SELECT min(at) AS "first!", max(at) AS "last!", min(value) AS "least!", max(value) AS "most!",
                  round(avg(value), 2) AS "mean!", count(*) AS "values!"
           FROM (
               SELECT at, value FROM sample_standing WHERE place = $1 AND quantity = $2 AND at >= $3 AND at < $4
               UNION ALL
               SELECT at, value FROM reading
               WHERE place = $1 AND quantity = $2 AND at >= $3 AND at < $4 AND struck_by IS NULL) v
           GROUP BY width_bucket(extract(epoch FROM v.at), extract(epoch FROM $3::timestamptz),
                                 extract(epoch FROM $4::timestamptz), $5)
           ORDER BY 1"#,
        place.0,
        quantity.word(),
        from,
        to,
        stretches
    );
    Ok(rows.fetch_all(db).await?)
}
