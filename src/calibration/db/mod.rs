//! SQL of calibrations: which stand, when each instrument is due.

mod question;
mod used;

pub use question::{Covered, flagged, in_question, latest, lots};
pub use used::{OpenOn, Used, on_lots_of, open_on, tried, used_at, used_for};

use sqlx::{PgConnection, query};
use time::OffsetDateTime;

use super::entry::CalibrationRecorded;
use crate::book::{Project, Seq, Written};
use crate::deviations::{self, FoundOn};
use crate::error::Result;
use crate::ids::{InstrumentId, Named};
use crate::setup::entry::Measures;

impl Project for CalibrationRecorded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO calibration (seq, instrument, method, at, found_met, left_met)
             VALUES ($1, $2, $3, $4, $5, $6)",
            at.seq as Seq,
            self.instrument.id.0,
            self.against(),
            at.happened_at,
            self.found_met(),
            self.left_met()
        )
        .execute(&mut *db)
        .await?;
        match &self.deviation {
            Some(opened) => deviations::open(db, opened, FoundOn::Instrument(self.instrument.id), at).await,
            None => Ok(()),
        }
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE calibration SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(&mut *db)
            .await?;
        deviations::unopen(db, at, by).await
    }
}

/// A calibration that stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Last {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub found_met: bool,
    pub left_met: bool,
}

/// An instrument in use with its last calibration and when the next one is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    pub instrument: Named<InstrumentId>,
    pub measures: Measures,
    /// Days from one to the next; none where the shop gave none.
    pub every: Option<i32>,
    pub last: Option<Last>,
}

impl Due {
    /// When the next one is due: at once where it never passed.
    pub fn at(&self) -> Option<OffsetDateTime> {
        let days = time::Duration::days(i64::from(self.every?));
        match &self.last {
            Some(last) if last.left_met => Some(last.at + days),
            _ => Some(OffsetDateTime::UNIX_EPOCH),
        }
    }
}

/// Every instrument in use, by name.
pub async fn due(db: &mut PgConnection) -> Result<Vec<Due>> {
    let rows = query!(
        r#"SELECT i.id AS "id: InstrumentId", i.name, i.measures AS "measures: Measures", i.calibrate_every,
                  c.seq AS "seq?: Seq", c.at AS "at?", c.found_met AS "found_met?", c.left_met AS "left_met?"
           FROM instrument i
           LEFT JOIN LATERAL (SELECT c.seq, c.at, c.found_met, c.left_met FROM calibration c
                              WHERE c.instrument = i.id AND c.struck_by IS NULL
                              ORDER BY c.at DESC, c.seq DESC LIMIT 1) c ON true
           WHERE NOT i.retired ORDER BY lower(i.name)"#
    )
    .fetch_all(db)
    .await?;
    let last = |seq: Option<Seq>, at: Option<OffsetDateTime>, found: Option<bool>, left: Option<bool>| {
        Some(Last { seq: seq?, at: at?, found_met: found?, left_met: left? })
    };
    Ok(rows
        .into_iter()
        .map(|row| Due {
            instrument: Named::new(row.id, row.name),
            measures: row.measures,
            every: row.calibrate_every,
            last: last(row.seq, row.at, row.found_met, row.left_met),
        })
        .collect())
}
