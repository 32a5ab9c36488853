//! What a failure puts in question: the lines that rest on the instrument, and the lots that they speak of.

use sqlx::{PgConnection, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use super::tried;
use crate::book::Seq;
use crate::calibration::entry::{Flagged, passed_before};
use crate::error::Result;
use crate::ids::{InstrumentId, LotId, Named};
use crate::measure::{Grams, LotCode};

/// What was read with the instrument after it last passed and up to a moment, and the lots that it speaks of.
pub async fn flagged(db: &mut PgConnection, instrument: InstrumentId, at: OffsetDateTime) -> Result<Flagged> {
    let stood = tried(db, &[instrument]).await?;
    let passed_before = passed_before(at, stood.get(&instrument).map_or(&[], Vec::as_slice));
    let lines = query_scalar!(
        r#"SELECT u.seq AS "seq!: Seq" FROM read_with u
           WHERE u.instrument = $1 AND u.at <= $2 AND ($3::timestamptz IS NULL OR u.at > $3) ORDER BY u.seq"#,
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

/// The instrument's last failure: its moment, its deviation, and whether that is closed.
pub struct Failure {
    pub at: OffsetDateTime,
    pub deviation: Uuid,
    pub closed: bool,
}

/// The lines of the instrument's latest calibrations, struck ones as well.
pub async fn latest(db: &mut PgConnection, instrument: InstrumentId, limit: i64) -> Result<Vec<Seq>> {
    let lines = query_scalar!(
        r#"SELECT seq AS "seq: Seq" FROM calibration WHERE instrument = $1 ORDER BY seq DESC LIMIT $2"#,
        instrument.0,
        limit
    );
    Ok(lines.fetch_all(db).await?)
}

/// The instrument's last failure that stands.
pub async fn in_question(db: &mut PgConnection, instrument: InstrumentId) -> Result<Option<Failure>> {
    let row = query_as!(
        Failure,
        r#"SELECT c.at, d.id AS deviation, d.closed_by IS NOT NULL AS "closed!"
           FROM calibration c JOIN deviation d ON d.seq = c.seq
           WHERE c.instrument = $1 AND c.struck_by IS NULL AND NOT c.found_met
           ORDER BY c.at DESC, c.seq DESC LIMIT 1"#,
        instrument.0
    );
    Ok(row.fetch_optional(db).await?)
}
