//! What is on hold.

use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;

use crate::book::Seq;
use crate::deviations::entry::Hold;
use crate::error::Result;
use crate::ids::{DeviationId, LotId, Named};
use crate::measure::{Grams, LotCode};

/// A hold of a lot that still weighs something.
#[derive(Debug, Clone)]
pub struct HeldLot {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub grams: Grams,
    pub place: Option<String>,
    pub reason: String,
    pub since: OffsetDateTime,
    pub laid_by: Seq,
    /// The deviation whose hold it is, while that is open.
    pub deviation: Option<DeviationId>,
    /// It was decided that it is to be discarded.
    pub to_discard: bool,
}

/// Every open hold, the oldest first.
pub async fn holds(db: &mut PgConnection) -> Result<Vec<HeldLot>> {
    let rows = query_as!(
        HeldLot,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.grams AS "grams: Grams",
                  p.name AS "place?", h.reason, e.happened_at AS since, h.seq AS "laid_by: Seq",
                  (SELECT d.id FROM deviation d WHERE d.seq = h.seq AND d.closed_by IS NULL AND d.struck_by IS NULL)
                      AS "deviation: DeviationId",
                  EXISTS (SELECT 1 FROM deviation_lot n WHERE n.lot = l.id AND n.seq = h.seq AND n.decision = 'discard')
                      AS "to_discard!"
           FROM hold h JOIN lot l ON l.id = h.lot JOIN entry e ON e.seq = h.seq LEFT JOIN place p ON p.id = l.place
           WHERE h.lifted_by IS NULL AND l.grams > 0 AND l.struck_by IS NULL
           ORDER BY e.happened_at, h.seq, l.code_day, l.code_number, l.code_piece"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// One hold, lifted or not.
pub async fn hold(db: &mut PgConnection, lot: LotId, laid_by: Seq) -> Result<Option<Hold>> {
    let row = query!(
        r#"SELECT l.code, h.reason, h.lifted_by IS NOT NULL AS "lifted!",
                  EXISTS (SELECT 1 FROM deviation d WHERE d.seq = h.seq AND d.closed_by IS NULL
                          AND d.struck_by IS NULL) AS "of_open_deviation!"
           FROM hold h JOIN lot l ON l.id = h.lot WHERE h.lot = $1 AND h.seq = $2"#,
        lot.0,
        laid_by as Seq
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| Hold {
        lot: Named::new(lot, row.code),
        laid_by,
        reason: row.reason,
        lifted: row.lifted,
        of_open_deviation: row.of_open_deviation,
    }))
}
