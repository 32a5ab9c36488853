//! Which instruments a line or a batch rests on, and how each was found and left.

use std::collections::HashMap;

use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::Seq;
use crate::calibration::entry::Tried;
use crate::error::Result;
use crate::ids::{DeviationId, InstrumentId};

/// Every calibration of these instruments that stands, in the order of time.
pub async fn tried(
    db: &mut PgConnection,
    instruments: &[InstrumentId],
) -> Result<HashMap<InstrumentId, Vec<Tried>>> {
    let ids: Vec<Uuid> = instruments.iter().map(|one| one.0).collect();
    let rows = query!(
        r#"SELECT instrument AS "instrument: InstrumentId", seq AS "seq: Seq", at, found_met, left_met
           FROM calibration WHERE instrument = ANY($1) AND struck_by IS NULL ORDER BY at, seq"#,
        &ids
    )
    .fetch_all(db)
    .await?;
    let mut all: HashMap<InstrumentId, Vec<Tried>> = HashMap::new();
    for row in rows {
        let one = Tried { seq: row.seq, at: row.at, found_met: row.found_met, left_met: row.left_met };
        all.entry(row.instrument).or_default().push(one);
    }
    Ok(all)
}

/// A figure that was read with an instrument.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    pub instrument: InstrumentId,
    pub name: String,
    pub seq: Seq,
    pub at: OffsetDateTime,
}

/// What one line of the book was read with.
pub async fn used_at(db: &mut PgConnection, line: Seq) -> Result<Vec<Used>> {
    let rows = query_as!(
        Used,
        r#"SELECT i.id AS "instrument: InstrumentId", i.name, u.seq AS "seq!: Seq", u.at AS "at!"
           FROM read_with u JOIN instrument i ON i.id = u.instrument WHERE u.seq = $1 ORDER BY lower(i.name)"#,
        line as Seq
    );
    Ok(rows.fetch_all(db).await?)
}

/// What was read of a lot, or of a batch with its mix and its pieces, with which instrument, in the order of the book.
pub async fn used_for(db: &mut PgConnection, subject: Uuid) -> Result<Vec<Used>> {
    let rows = query_as!(
        Used,
        r#"SELECT DISTINCT i.id AS "instrument: InstrumentId", i.name, u.seq AS "seq!: Seq", u.at AS "at!"
           FROM about s JOIN read_with u ON u.seq = s.seq JOIN instrument i ON i.id = u.instrument
           WHERE s.subject = $1 OR s.subject IN (SELECT mix FROM batch WHERE id = $1)
              OR s.subject IN (SELECT lot FROM piece WHERE batch = $1 AND struck_by IS NULL)
           ORDER BY 3"#,
        subject
    );
    Ok(rows.fetch_all(db).await?)
}

/// A deviation that a failed calibration opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenOn {
    /// The calibration.
    pub seq: Seq,
    pub instrument: InstrumentId,
    pub deviation: DeviationId,
    pub what: String,
    pub closed: bool,
}

/// The deviations that these calibrations opened.
pub async fn open_on(db: &mut PgConnection, calibrations: &[Seq]) -> Result<Vec<OpenOn>> {
    let seqs: Vec<i64> = calibrations.iter().map(|seq| seq.0).collect();
    let rows = query_as!(
        OpenOn,
        r#"SELECT seq AS "seq: Seq", instrument AS "instrument!: InstrumentId", id AS "deviation: DeviationId", what,
                  closed_by IS NOT NULL AS "closed!"
           FROM deviation WHERE seq = ANY($1) AND instrument IS NOT NULL AND struck_by IS NULL ORDER BY seq"#,
        &seqs
    );
    Ok(rows.fetch_all(db).await?)
}

/// The deviations of failed calibrations that concern a lot, or the mix or a piece of a batch.
pub async fn on_lots_of(db: &mut PgConnection, subject: Uuid) -> Result<Vec<OpenOn>> {
    let rows = query_as!(
        OpenOn,
        r#"SELECT d.seq AS "seq: Seq", d.instrument AS "instrument!: InstrumentId", d.id AS "deviation: DeviationId",
                  d.what, d.closed_by IS NOT NULL AS "closed!"
           FROM deviation d
           WHERE d.instrument IS NOT NULL AND d.struck_by IS NULL AND EXISTS (
               SELECT 1 FROM deviation_lot n WHERE n.deviation = d.id AND (
                   n.lot = $1 OR n.lot IN (SELECT mix FROM batch WHERE id = $1)
                   OR n.lot IN (SELECT lot FROM piece WHERE batch = $1 AND struck_by IS NULL)))
           ORDER BY d.seq"#,
        subject
    );
    Ok(rows.fetch_all(db).await?)
}
