//! What follows when something is signed that a cure hangs on: one that was above the limit, by the readings or the samples of
//! its place, opens its deviation in the same breath.

use time::Duration;

use super::db;
use super::entry::{self, Excursion};
use super::found;
use crate::book::Pen;
use crate::checks;
use crate::error::Result;
use crate::ids::{BatchId, DeviationId, Named};
use crate::web::{Afterwards, Me, Touched};

/// A reading is not written later than this after it was taken, so it cannot bear on a cure that ended before.
const FURTHEST_BACK: Duration = Duration::days(31);

pub fn after<'a>(pen: &'a mut Pen, _me: &'a Me, touched: Touched) -> Afterwards<'a> {
    Box::pin(async move {
        let now = pen.next().recorded_at;
        for batch in db::touched(pen, touched, now - FURTHEST_BACK).await? {
            open(pen, batch).await?;
        }
        Ok(())
    })
}

/// Opens a deviation for everything of a batch's cure that was too warm and that none speaks of. How many it opened.
pub async fn open(pen: &mut Pen, batch: BatchId) -> Result<usize> {
    let excursions = found::undecided(pen, batch).await?;
    if excursions.is_empty() {
        return Ok(0);
    }
    let Some(named) = db::batch_named(pen, batch).await? else { return Ok(0) };
    for excursion in &excursions {
        sign(pen, named.clone(), excursion.clone()).await?;
    }
    Ok(excursions.len())
}

async fn sign(pen: &mut Pen, batch: Named<BatchId>, excursion: Excursion) -> Result<()> {
    let lots = checks::lots_of_batch(pen, batch.id).await?;
    let deviation = DeviationId::made_by(pen.next().id);
    pen.append(entry::exceeded(batch, excursion, lots, deviation)).await?;
    Ok(())
}
