//! The lines that a release rested on.

use sqlx::{PgConnection, query};
use uuid::Uuid;

use crate::batches::entry::PiecesReleased;
use crate::book::{Seq, Written};
use crate::error::Result;

/// A row for each piece and each line that showed one of its criteria. What was met for the batch as a whole was met for every
/// piece that went.
pub(super) async fn insert(db: &mut PgConnection, released: &PiecesReleased, at: &Written) -> Result<()> {
    let (mut lots, mut lines, mut criteria) = (Vec::<Uuid>::new(), Vec::<i64>::new(), Vec::<String>::new());
    for met in released.shown.iter().flat_map(|shown| &shown.met) {
        let whose = |lot| met.piece.is_none_or(|piece| piece == lot);
        for piece in released.pieces.iter().filter(|piece| whose(piece.lot.id)) {
            for line in &met.by {
                lots.push(piece.lot.id.0);
                lines.push(line.0);
                criteria.push(met.criterion.clone());
            }
        }
    }
    query!(
        "INSERT INTO rests_on (seq, lot, entry, criterion)
         SELECT DISTINCT $1::bigint, u.lot, u.entry, u.criterion
         FROM unnest($2::uuid[], $3::bigint[], $4::text[]) AS u(lot, entry, criterion)",
        at.seq as Seq,
        &lots,
        &lines,
        &criteria
    )
    .execute(db)
    .await?;
    Ok(())
}
