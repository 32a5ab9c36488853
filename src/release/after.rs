//! What follows when a line is struck that a release rested on: what was let go by it is held, in the same breath.

use super::db;
use super::entry::{Rested, evidence_struck};
use crate::book::{Pen, Seq};
use crate::checks;
use crate::error::Result;
use crate::ids::DeviationId;
use crate::web::{Afterwards, Me, Touched};

/// Opens a deviation for every release that rested on the struck line and stands.
pub fn after<'a>(pen: &'a mut Pen, _me: &'a Me, touched: Touched) -> Afterwards<'a> {
    Box::pin(async move {
        let Touched::Struck(line) = touched else { return Ok(()) };
        for rested in db::resting_on(pen, line).await? {
            hold(pen, line, rested).await?;
        }
        Ok(())
    })
}

/// Holds the pieces that were let go by the line and what was packed of them, as far as it is still here.
async fn hold(pen: &mut Pen, line: Seq, rested: Rested) -> Result<()> {
    let pieces: Vec<_> = rested.pieces.iter().map(|piece| piece.id).collect();
    let here = checks::still_here(pen, &pieces).await?;
    let deviation = DeviationId::made_by(pen.next().id);
    pen.append(evidence_struck(line, rested, here, deviation)).await?;
    Ok(())
}
