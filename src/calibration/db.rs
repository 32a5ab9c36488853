//! SQL of calibrations, and of what rests on an instrument.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use super::entry::{CalibrationRecorded, Flagged};
use crate::book::{Project, Seq, Written};
use crate::deviations::{self, FoundOn};
use crate::error::Result;
use crate::ids::{InstrumentId, LotId, Named};
use crate::measure::{Grams, LotCode};
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

/// When the instrument last passed before a moment.
async fn passed_before(
    db: &mut PgConnection,
    instrument: InstrumentId,
    at: OffsetDateTime,
) -> Result<Option<OffsetDateTime>> {
    let passed = query_scalar!(
        "SELECT max(at) FROM calibration
         WHERE instrument = $1 AND at < $2 AND left_met AND struck_by IS NULL",
        instrument.0,
        at
    );
    Ok(passed.fetch_one(db).await?)
}

/// What was read with the instrument after it last passed and before a moment, and the lots that it speaks of.
pub async fn flagged(db: &mut PgConnection, instrument: InstrumentId, at: OffsetDateTime) -> Result<Flagged> {
    let passed_before = passed_before(db, instrument, at).await?;
    let lines = query_scalar!(
        r#"SELECT e.seq AS "seq: Seq" FROM about a JOIN entry e ON e.seq = a.seq
           WHERE a.subject = $1 AND e.kind NOT IN ('instrument.written', 'calibration.recorded', 'entry.struck')
             AND e.happened_at <= $2 AND ($3::timestamptz IS NULL OR e.happened_at > $3)
             AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = e.seq)
           ORDER BY e.seq"#,
        instrument.0,
        at,
        passed_before
    )
    .fetch_all(&mut *db)
    .await?;
    let covered = lots(db, &lines).await?;
    let here = covered.into_iter().filter(|lot| lot.grams.is_positive());
    let lots = here.map(|lot| Named::new(lot.lot, lot.code.to_string())).collect();
    Ok(Flagged { passed_before, lines, lots })
}

/// A lot that a line in question speaks of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Covered {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub grams: Grams,
    pub place: Option<String>,
    pub held: bool,
}

/// The lots that these readings and weighings speak of: the one that was measured, a batch's mix and pieces, what lay in the
/// place at that moment, and whatever was made of any of them since. What was used up or had left before is not among
/// them.
pub async fn lots(db: &mut PgConnection, lines: &[Seq]) -> Result<Vec<Covered>> {
    let seqs: Vec<i64> = lines.iter().map(|seq| seq.0).collect();
    let rows = query_as!(
        Covered,
        r#"WITH RECURSIVE flagged AS (
               SELECT e.seq, e.happened_at AS at, r.place, r.batch
               FROM entry e LEFT JOIN reading r ON r.seq = e.seq WHERE e.seq = ANY($1)
           ), inside AS (
               SELECT DISTINCT f.place AS root, f.place AS id FROM flagged f WHERE f.place IS NOT NULL
               UNION SELECT i.root, p.id FROM place p JOIN inside i ON p.within = i.id
           ), stays AS (
               SELECT p.lot, p.place, e.happened_at AS began,
                      lead(e.happened_at) OVER (PARTITION BY p.lot ORDER BY e.happened_at, p.seq) AS ended
               FROM put p JOIN entry e ON e.seq = p.seq
               WHERE p.lot IN (SELECT q.lot FROM put q JOIN inside i ON i.id = q.place)
                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = p.seq)
           ), roots AS (
               SELECT s.lot, f.at FROM flagged f JOIN inside i ON i.root = f.place
               JOIN stays s ON s.place = i.id AND s.began <= f.at AND (s.ended IS NULL OR f.at < s.ended)
               UNION SELECT m.lot, f.at FROM flagged f
               JOIN (SELECT id AS batch, mix AS lot FROM batch
                     UNION ALL SELECT batch, lot FROM piece WHERE struck_by IS NULL) m ON m.batch = f.batch
               UNION SELECT l.id, f.at FROM flagged f JOIN about a ON a.seq = f.seq JOIN lot l ON l.id = a.subject
           ), first AS (
               SELECT lot, min(at) AS at FROM roots GROUP BY lot
           ), walk AS (
               SELECT lot, at FROM first
               UNION
               SELECT made.lot, w.at FROM walk w
               JOIN movement went ON went.lot = w.lot AND went.grams < 0
               JOIN entry e ON e.seq = went.seq AND e.happened_at >= w.at AND e.kind <> 'entry.struck'
               JOIN movement made ON made.seq = went.seq AND made.grams > 0 AND made.lot IS NOT NULL
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = went.seq)
           )
           SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.grams AS "grams: Grams",
                  p.name AS "place?",
                  EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL) AS "held!"
           FROM lot l LEFT JOIN place p ON p.id = l.place
           WHERE l.struck_by IS NULL AND EXISTS (
               SELECT 1 FROM walk w WHERE w.lot = l.id AND (l.grams > 0 OR EXISTS (
                   SELECT 1 FROM movement m JOIN entry e ON e.seq = m.seq
                   WHERE m.lot = l.id AND m.grams < 0 AND e.happened_at >= w.at)))
           ORDER BY l.code_day, l.code_number, l.code_piece"#,
        &seqs
    );
    Ok(rows.fetch_all(db).await?)
}

/// The lines that the instrument's last failure put in question, the calibration that did, and its deviation.
pub async fn in_question(db: &mut PgConnection, instrument: InstrumentId) -> Result<Option<(Seq, Uuid)>> {
    let row = query!(
        r#"SELECT c.seq AS "seq: Seq", d.id FROM calibration c JOIN deviation d ON d.seq = c.seq
           WHERE c.instrument = $1 AND c.struck_by IS NULL AND NOT c.found_met
           ORDER BY c.at DESC, c.seq DESC LIMIT 1"#,
        instrument.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| (row.seq, row.id)))
}
