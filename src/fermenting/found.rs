//! What other rooms ask of fermenting: how the criterion stands for a batch, and what presses.

use rust_decimal::Decimal;
use sqlx::PgConnection;
use time::OffsetDateTime;

use super::db;
use super::entry::{self, Adopted, GUIDANCE, Outcome};
use super::run::{Reckoned, Run};
use crate::book::Seq;
use crate::deviations::{self, Closing};
use crate::error::Result;
use crate::evidence::Found;
use crate::ids::{BatchId, DeviationId};
use crate::measure::LotCode;

/// Fewer hours than this left press: there is still time to cool the chamber or to measure.
const LITTLE: Decimal = Decimal::from_parts(12, 0, 0, false, 0);

/// How the criterion "fermentation within its degree-hours" stands for a batch by what is recorded up to `now`. `None`: it
/// does not apply, since the recipe is not one that ferments, or there is no such batch.
pub async fn found(db: &mut PgConnection, batch: BatchId, now: OffsetDateTime) -> Result<Option<Found>> {
    let Some(run) = db::run(db, batch, now).await?.filter(|run| run.ferments) else { return Ok(None) };
    let Some(adopted) = db::adopted(db).await? else {
        return Ok(Some(Found::not_yet(
            "No rule set for degree-hours is adopted. Somebody who keeps the shop adopts one.",
        )));
    };
    let judged = db::last_judged(db, &[batch]).await?.pop();
    let found = stands(
        &run,
        &adopted.adopted,
        &run.reckon(&adopted.adopted),
        judged.as_ref().map(|judged| judged.seq),
    );
    let decided = judged.and_then(|judged| judged.deviation);
    let closing = deviations::closings(db, decided.as_slice()).await?.pop();
    Ok(Some(decided_on(found, closing.as_ref())))
}

/// What was over its limit is met by the decision on its deviation, where that let any of it go, or where
/// somebody let it go by hand since: the rule set's guidance leaves it to the regulator and a process authority what becomes of
/// the batch. What is kept stays on hold.
pub(super) fn decided_on(found: Found, closing: Option<&Closing>) -> Found {
    let let_go = closing.and_then(|closing| Some((closing.by(), closing.let_go()?)));
    match (found, let_go) {
        (Found::Failed { what, mut by, .. }, Some((lines, words))) => {
            by.extend(lines);
            Found::met(format!("{what}; {words}"), by)
        }
        (found, _) => found,
    }
}

/// How a reckoned run stands.
pub(super) fn stands(run: &Run, by: &Adopted, reckoned: &Reckoned, judged: Option<Seq>) -> Found {
    let Some((_, stuffed)) = run.stuffed else { return Found::not_yet("It is not stuffed yet.") };
    let mut lines = vec![stuffed];
    lines.extend(run.end().map(|end| end.seq));
    let read = run.read_here(reckoned.way, by.gap());
    lines.extend(read.into_iter().flat_map(|here| here.readings));
    lines.extend(judged);
    lines.sort_unstable();
    lines.dedup();
    let figure = reckoned.verdict.as_ref().map(|verdict| {
        format!(
            "{} of {}\u{a0}{} ({}, {})",
            entry::against(verdict.figure, verdict.limit),
            entry::figure(verdict.limit),
            by.unit(),
            by.rules.set().name,
            verdict.band
        )
    });
    match (reckoned.outcome, figure) {
        (Outcome::Over, Some(figure)) => {
            Found::failed(format!("{figure}: over the limit before pH 5.3"), GUIDANCE, lines)
        }
        (Outcome::Met, Some(figure)) => {
            let ph = run.end().map(|end| format!(", {}", end.value.text())).unwrap_or_default();
            Found::met(format!("{figure}{ph}"), lines)
        }
        (Outcome::Within, Some(figure)) => {
            Found::not_yet(format!("pH 5.3 or less is not recorded yet; {figure} so far."))
        }
        _ if !reckoned.unread.is_empty() || reckoned.warmth.is_none() => {
            Found::not_yet("Nobody read the temperature for some of the time that it stood there.")
        }
        _ => Found::not_yet(
            "The printed table lists no chamber so warm. Adopt the formula, or ask a process authority.",
        ),
    }
}

/// A batch that ferments and has little left, or nothing.
#[derive(Debug, Clone)]
pub struct Pressing {
    pub batch: BatchId,
    pub code: LotCode,
    pub product_name: String,
    pub place_name: String,
    /// Hours left at the present temperature; nothing where it is over.
    pub left: Decimal,
    pub over: bool,
    /// "572 of 665 °C-hours"
    pub figure: String,
    /// The open deviation that the run has opened, where it was judged.
    pub deviation: Option<DeviationId>,
}

/// The batches whose count goes on and that are over the adopted limit, or have few hours left. None where none is adopted.
pub async fn pressing(db: &mut PgConnection, now: OffsetDateTime) -> Result<Vec<Pressing>> {
    let Some(adopted) = db::adopted(db).await? else { return Ok(Vec::new()) };
    let by = adopted.adopted;
    let batches = db::counting(db).await?;
    if batches.is_empty() {
        return Ok(Vec::new());
    }
    let judged = db::last_judged(db, &batches).await?;
    let runs = db::runs(db, &batches, now).await?;
    let pressing = runs.iter().filter_map(|run| {
        let reckoned = run.reckon(&by);
        let over = reckoned.outcome == Outcome::Over;
        let judged = judged.iter().find(|judged| judged.batch == run.batch);
        // Somebody has decided on it already: nothing of it waits.
        if over && judged.is_some_and(|judged| judged.deviation.is_some() && !judged.open) {
            return None;
        }
        let left = if over { Decimal::ZERO } else { reckoned.hours_left(&by)? };
        let verdict = reckoned.verdict.as_ref()?;
        (left <= LITTLE).then(|| Pressing {
            batch: run.batch,
            code: run.code,
            product_name: run.product_name.clone(),
            place_name: run.stands_in(reckoned.way).map(|place| place.name.clone()).unwrap_or_default(),
            left,
            over,
            figure: format!(
                "{} of {}\u{a0}{}",
                entry::against(verdict.figure, verdict.limit),
                entry::figure(verdict.limit),
                by.unit()
            ),
            deviation: judged.filter(|judged| judged.open).and_then(|judged| judged.deviation),
        })
    });
    Ok(pressing.collect())
}
