//! Whether the cure was applied within limits, by what is recorded: one of the criteria that a release asks for.

use sqlx::PgConnection;

use super::db;
use super::entry::{self, Actual, Standing};
use crate::book::Seq;
use crate::error::{Error, Result};
use crate::evidence::Found;
use crate::ids::BatchId;
use crate::limits::{Judged, shown};
use crate::standards::limits::{Base, Limit, Stands};

/// "Cure applied within limits": each figure with its limit and base, and the entries that it was reckoned from.
pub async fn cure_found(db: &mut PgConnection, batch: BatchId) -> Result<Found> {
    let batch = db::standing(db, batch).await?.ok_or(Error::NotFound)?;
    let made = db::made_by(db, batch.batch).await?;
    Ok(found(&batch, made))
}

/// `made` are the entries that took the meat and laid the cure on or stuffed the mix.
fn found(batch: &Standing, made: Vec<Seq>) -> Found {
    let done = if batch.kind.is_whole_muscle() { batch.applied } else { !batch.pieces.is_empty() };
    let asks = |limit: &Limit| limit.least.is_some() && limit.holds_for(batch.curing.way, batch.falls_under);
    let asked = batch.in_force.held.iter().any(|held| asks(&held.limit));
    if !entry::has_cure(batch) && !asked {
        return Found::met("no cure; no limit asked", made);
    }
    if let Some(line) = batch.ingredients().find(|line| entry::is_cure(line) && line.weighed.is_zero()) {
        return Found::not_yet(format!("{} is not weighed.", line.line.item.name));
    }
    if !done {
        let what = if batch.kind.is_whole_muscle() {
            "The cure is not on the pieces."
        } else {
            "The mix is not stuffed."
        };
        return Found::not_yet(what);
    }
    let mut by: Vec<Seq> =
        batch.weighings.iter().filter(|one| one.brings.is_some()).map(|one| one.seq).collect();
    by.extend(made);
    by.sort();
    let goes_in = match entry::actual(batch, batch.laid_on) {
        Actual::Known(goes_in) => goes_in,
        Actual::Unknown => {
            let may = "Weigh a cure whose pack states its strength, in another batch; what becomes of this one is decided.";
            return Found::failed("A cure went in whose lot states no strength.", may, by);
        }
        Actual::NoCure => match entry::nothing(batch) {
            Some(goes_in) => goes_in,
            None => return Found::met("no cure; no limit asked", by),
        },
    };
    if batch.in_force.jurisdiction.is_none() && batch.in_force.held.is_empty() {
        return Found::not_yet("The shop has not said whose limits of curing it holds itself to.");
    }
    let judged = entry::judged(batch, &goes_in);
    let said = |one: &Judged<'_>| said(one, goes_in.way().base());
    if let Some(over) = judged.iter().find(|one| one.stands == Stands::Over) {
        let may = "Nothing takes a cure out of meat again: hold it, and let the regulator or a process authority say what becomes of it.";
        return Found::failed(format!("{}: over the limit", said(over)), may, by);
    }
    if judged.is_empty() {
        return Found::met("no limit in force speaks of what went in", by);
    }
    Found::met(judged.iter().map(said).collect::<Vec<_>>().join("; "), by)
}

/// "Nitrite, comminuted: 150 ppm of the meat block, at most 156.25 ppm (9 CFR 424.21(c))"
fn said(one: &Judged<'_>, by_method: Base) -> String {
    let limit = &one.held.limit;
    let base = if limit.base == Base::ByMethod { by_method } else { limit.base };
    let below = if one.stands == Stands::Below { ", below it, signed with its reason" } else { "" };
    let own = if one.held.is_looser() { ", the shop's own and looser than the adopted limit" } else { "" };
    format!(
        "{}: {} ppm {}, {} ({}{own}){below}",
        limit.name,
        shown(one.figure.exact(), limit),
        base.words(),
        crate::limits::entry::band(limit),
        limit.citation
    )
}
