//! What follows when something is signed that a fermentation hangs on: a run that is now within its limit at pH 5.3, or
//! over it, is judged in the same breath.

use time::Duration;

use super::db;
use super::entry::{self, Adopted, EndPh, FermentationJudged, Outcome};
use super::run::{Reckoned, Run};
use crate::book::Pen;
use crate::checks;
use crate::deviations::Opened;
use crate::error::{Refusal, Result};
use crate::ids::{DeviationId, Named};
use crate::web::{Afterwards, Me, Touched};
use rust_decimal::Decimal;

/// A reading is not written later than this after it was taken, so it cannot bear on a count that ended before.
const FURTHEST_BACK: Duration = Duration::days(31);

/// Judges what this has to do with, where it is decided now and was not judged so before.
pub fn after<'a>(pen: &'a mut Pen, _me: &'a Me, touched: Touched) -> Afterwards<'a> {
    Box::pin(async move {
        let Some(adopted) = db::adopted(pen).await? else { return Ok(()) };
        let now = pen.next().recorded_at;
        let batches = db::touched(pen, touched, now - FURTHEST_BACK).await?;
        if batches.is_empty() {
            return Ok(());
        }
        let runs = db::runs(pen, &batches, now).await?;
        let before = db::last_judged(pen, &batches).await?;
        for run in &runs {
            let last = before.iter().find(|last| last.batch == run.batch);
            let reckoned = run.reckon(&adopted.adopted);
            let decided = matches!(reckoned.outcome, Outcome::Met | Outcome::Over);
            if decided && last.map(|last| last.outcome) != Some(reckoned.outcome) {
                sign(pen, run, &adopted.adopted, reckoned, last.is_none_or(|last| !last.open)).await?;
            }
        }
        Ok(())
    })
}

/// Signs a judgement with the figures it rests on. Over the limit it opens a deviation and holds the batch's lots, unless
/// one stands open on it already (`opens` is false).
pub async fn sign(pen: &mut Pen, run: &Run, by: &Adopted, reckoned: Reckoned, opens: bool) -> Result<()> {
    let in_gaps = reckoned.in_gaps();
    let nothing =
        || Refusal::of("No temperature is recorded where the batch stood. There is nothing to judge by.");
    let warmth = reckoned.warmth.ok_or_else(nothing)?;
    let verdict = reckoned.verdict.ok_or_else(|| {
        Refusal::of(
            "The printed table lists no chamber so warm. Judge by the formula, or ask a process authority.",
        )
    })?;
    let (from, _) = run.stuffed.ok_or_else(nothing)?;
    let code = run.code.to_string();
    let over = reckoned.outcome == Outcome::Over && opens;
    let deviation = if over {
        let what = entry::over(&code, by, verdict.figure, verdict.limit, &verdict.band);
        let lots = checks::lots_of_batch(pen, run.batch).await?;
        Some(Opened { deviation: DeviationId::made_by(pen.next().id), what, lots })
    } else {
        None
    };
    pen.append(FermentationJudged {
        batch: Named::new(run.batch, code),
        rules: by.rules,
        method: by.method,
        edge: by.edge,
        largest_gap: by.largest_gap,
        from,
        until: run.until,
        ph: run.end().map(|end| EndPh { value: end.value, seq: end.seq }),
        degree_hours: warmth.degree_hours,
        hours_above: warmth.hours_above,
        highest: warmth.highest,
        figure: verdict.figure,
        limit: verdict.limit,
        band: verdict.band,
        temperatures: run.read_here(reckoned.way, by.gap()),
        hours_in_gaps: (Decimal::from(in_gaps.whole_minutes()) / Decimal::from(60)).round_dp(2).normalize(),
        outcome: reckoned.outcome,
        deviation,
    })
    .await?;
    Ok(())
}
