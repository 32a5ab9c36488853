//! What really goes in, held against the limits in force: at the scale, when the cure is laid on, when the mix is stuffed, and
//! when the batch goes to its next stage. Over a limit nothing goes on; below a minimum somebody says why.

use rust_decimal::{Decimal, RoundingStrategy};

use super::ingredients::{IngredientWeighed, Verdict, judge};
use super::standing::{LineStanding, Standing, Weighing};
use crate::book::Say;
use crate::error::Refusal;
use crate::limits::{self, Judged};
use crate::measure::{ExactGrams, Grams};
use crate::recipes::{RecipeKind, Role, put};
use crate::standards::ingoing::{Brings, GoesIn};
use crate::standards::limits::Stands;

/// Whether somebody had to answer for a minimum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limited {
    Within,
    Below,
}

/// What can be said of what goes into a batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Actual {
    /// Nothing with nitrite, nitrate or ascorbate goes in.
    NoCure,
    /// A cure went in whose lot states no strength.
    Unknown,
    Known(GoesIn),
}

/// For the meat that was taken, with the weights as they were typed. What was left over and thrown away did not go in. Of a
/// cure in excess, what is brushed off later is not taken away: the figure is the most that it can be.
pub fn actual(batch: &Standing, laid_on: Option<(Grams, Grams)>) -> Actual {
    of(batch, &batch.weighings, laid_on)
}

fn of(batch: &Standing, weighings: &[Weighing], laid_on: Option<(Grams, Grams)>) -> Actual {
    if weighings.iter().any(|one| one.role == Role::Cure && one.brings.is_none()) {
        return Actual::Unknown;
    }
    let puts: Vec<_> = weighings
        .iter()
        .filter_map(|one| Some(put(&batch.line(one.n)?.line, one.weight.decimal(), one.brings)))
        .collect();
    if !puts.iter().any(|put| put.brings.cures() || put.brings.accelerator.is_some()) {
        return Actual::NoCure;
    }
    let laid_on = laid_on.map(|(on, left)| (on.decimal(), left.decimal()));
    let meat = if batch.meat.is_zero() { batch.meat_target.into() } else { batch.meat_exact };
    GoesIn::new(batch.curing, meat.decimal(), &puts, laid_on).map_or(Actual::Unknown, Actual::Known)
}

/// The limits that speak of it, each with its figure. A sausage that is sold fresh and has no cure is no cured meat: a
/// minimum does not ask for one.
pub fn judged<'a>(batch: &'a Standing, goes_in: &GoesIn) -> Vec<Judged<'a>> {
    limits::judge(&batch.in_force.held, batch.falls_under, goes_in)
}

/// Whether the recipe has a cure in it.
pub fn has_cure(batch: &Standing) -> bool {
    batch.lines.iter().any(|line| line.line.role == Role::Cure)
}

/// Whether a line has to be weighed before anything can be said of the cure.
pub fn is_cure(line: &LineStanding) -> bool {
    matches!(line.line.role, Role::Cure | Role::Accelerator)
}

/// Nothing of what a limit speaks of goes in, to be held against a minimum; none where no minimum can ask for it.
pub fn nothing(batch: &Standing) -> Option<GoesIn> {
    if batch.kind == RecipeKind::GroundFresh {
        return None;
    }
    let puts: Vec<_> = batch
        .weighings
        .iter()
        .filter_map(|one| Some(put(&batch.line(one.n)?.line, one.weight.decimal(), one.brings)))
        .collect();
    GoesIn::new(batch.curing, batch.meat_block().decimal(), &puts, None).ok()
}

/// A weighing is refused before it is in the mix where it would bring the batch over a limit; the refusal says what to
/// change. When it is the last of the cures and leaves the batch below a minimum, it has a reason.
pub fn weigh(
    weighed: &IngredientWeighed,
    line: &LineStanding,
    batch: &Standing,
    division: Grams,
    say: Say,
) -> Result<Limited, Refusal> {
    let mut all = batch.weighings.clone();
    all.push(Weighing {
        seq: crate::book::Seq(0),
        n: weighed.line,
        role: line.line.role,
        name: line.line.item.name.clone(),
        weight: weighed.typed(),
        brings: weighed.brings(),
        reason: String::new(),
    });
    let Actual::Known(goes_in) = of(batch, &all, None) else { return Ok(Limited::Within) };
    let brings = put(&line.line, Decimal::ZERO, weighed.brings()).brings;
    let found = judged(batch, &goes_in);
    if let Some(one) = found.iter().find(|one| one.stands == Stands::Over) {
        let change = change(one, &goes_in, brings, weighed.typed(), division, say);
        return Err(Refusal::at("weight", format!("{}. {change}", limits::over(one))));
    }
    let speaks = brings.cures() || brings.accelerator.is_some();
    if !speaks || weighed.more_follows || cures_to_come(batch, weighed, division) {
        return Ok(Limited::Within);
    }
    answered(&found, &weighed.reason)
}

/// Whether another cure of the recipe is still to be weighed.
fn cures_to_come(batch: &Standing, weighed: &IngredientWeighed, division: Grams) -> bool {
    let cures = batch.ingredients().filter(|line| matches!(line.line.role, Role::Cure | Role::Accelerator));
    cures
        .filter(|line| line.n != weighed.line)
        .any(|line| judge(line.weighed, line.target, line.line.tolerance, division) == Verdict::Outside)
}

fn answered(judged: &[Judged<'_>], reason: &str) -> Result<Limited, Refusal> {
    let Some(one) = judged.iter().find(|one| one.stands == Stands::Below) else { return Ok(Limited::Within) };
    if reason.is_empty() {
        let limit = &one.held.limit;
        let message = format!(
            "{}: {} ppm go in, and {} ppm are asked at least ({}). Add cure, or say why it stays so.",
            limit.name,
            limits::shown(one.figure.exact(), limit),
            limit.least.unwrap_or_default(),
            limit.citation
        );
        return Err(Refusal::at("reason", message));
    }
    Ok(Limited::Below)
}

/// No batch goes on over a limit, whatever changed since its cure was weighed; below a minimum it goes on with a reason,
/// of this entry or of a cure's own weighing.
pub fn goes_on(
    batch: &Standing,
    laid_on: Option<(Grams, Grams)>,
    reason: &str,
    say: Say,
) -> Result<(), Refusal> {
    let goes_in = match actual(batch, laid_on) {
        Actual::Known(goes_in) => goes_in,
        Actual::NoCure => match nothing(batch) {
            Some(goes_in) => goes_in,
            None => return Ok(()),
        },
        Actual::Unknown => return unknown(batch),
    };
    let judged = judged(batch, &goes_in);
    if let Some(one) = judged.iter().find(|one| one.stands == Stands::Over) {
        let meat = more_meat(one, &goes_in, say);
        let meat = if meat.is_empty() { String::new() } else { format!(", or take {meat} more meat") };
        return Err(Refusal::of(format!(
            "{}. Strike a weighing of cure and weigh less{meat}.",
            limits::over(one)
        )));
    }
    let said = batch.weighings.iter().any(|one| one.brings.is_some() && !one.reason.is_empty());
    if !said {
        answered(&judged, reason)?;
    }
    Ok(())
}

/// Where limits are in force, a cure whose strength nobody knows does not go on: nothing could be held against them.
fn unknown(batch: &Standing) -> Result<(), Refusal> {
    if batch.in_force.held.is_empty() {
        return Ok(());
    }
    Err(Refusal::of(
        "A cure went in whose lot states no strength, so no limit can be held against it. Strike its weighing, and weigh one \
         whose pack states it.",
    ))
}

/// How much less of this cure, or how much more meat: rounded so that to do it is enough.
fn change(
    one: &Judged<'_>,
    goes_in: &GoesIn,
    brings: Brings,
    typed: ExactGrams,
    division: Grams,
    say: Say,
) -> String {
    let limit = &one.held.limit;
    let most = limit.most.unwrap_or_default();
    let less = goes_in
        .too_much_of(brings, limit.substance, limit.stated, limit.base, most)
        .filter(|less| *less > Decimal::ZERO);
    let meat = more_meat(one, goes_in, say);
    let Some(less) = less else {
        return "What is in the mix already is too much: strike a weighing of cure.".into();
    };
    let less = steps_up(less, division.decimal());
    if less >= typed.decimal() {
        return format!("None of it can go in, even without {}.", say.weight(typed.grams()));
    }
    let rest = say.weight(Grams::new(typed.decimal() - less));
    let meat = if meat.is_empty() { String::new() } else { format!(", or take {meat} more meat first") };
    format!("Take out {} of this cure, which leaves {rest}{meat}.", say.weight(Grams::new(less)))
}

fn more_meat(one: &Judged<'_>, goes_in: &GoesIn, say: Say) -> String {
    let limit = &one.held.limit;
    let more = goes_in.more_meat(limit.substance, limit.stated, limit.base, limit.most.unwrap_or_default());
    more.map(|more| say.weight(Grams::new(steps_up(more, Decimal::ONE)))).unwrap_or_default()
}

fn steps_up(weight: Decimal, step: Decimal) -> Decimal {
    (weight / step).round_dp_with_strategy(0, RoundingStrategy::ToPositiveInfinity) * step
}
