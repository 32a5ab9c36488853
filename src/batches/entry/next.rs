//! What is to be done next with a batch: the page's one main action.

use rust_decimal::Decimal;

use super::ingredients::{Verdict, judge};
use super::stages::next_step;
use super::standing::Standing;
use crate::measure::Grams;
use crate::recipes::Stage;

/// The next act.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    TakeMeat,
    /// The line of the recipe, from 1.
    Weigh(u16),
    LayOn,
    Stuff,
    Stage,
    Release,
    Nothing,
}

/// Meat comes first, then the ingredients in the recipe's order, then the cure or the stuffing, then the stages.
/// `division` is that of the small scale.
pub fn next(batch: &Standing, division: Grams) -> Next {
    if batch.stage == Stage::Released {
        return Next::Nothing;
    }
    let made = if batch.kind.is_whole_muscle() { batch.applied } else { !batch.pieces.is_empty() };
    if made { after_the_making(batch) } else { in_the_making(batch, division) }
}

fn after_the_making(batch: &Standing) -> Next {
    let waits = batch.pieces.iter().any(|piece| !piece.released && piece.lot.grams.is_positive());
    let steps_left = next_step(&batch.steps, &batch.stages).is_some();
    match batch.stage {
        Stage::Drying | Stage::Holding if !steps_left && waits => Next::Release,
        _ if !waits => Next::Nothing,
        _ => Next::Stage,
    }
}

fn in_the_making(batch: &Standing, division: Grams) -> Next {
    let begun = batch.ingredients().any(|line| line.weighed.is_positive());
    if !batch.has_meat() || !(begun || enough_meat(batch)) {
        return Next::TakeMeat;
    }
    let open = batch.ingredients().find(|line| {
        !line.explained && judge(line.weighed, line.target, line.line.tolerance, division) == Verdict::Outside
    });
    if let Some(line) = open {
        return Next::Weigh(line.n);
    }
    if batch.kind.is_whole_muscle() {
        return Next::LayOn;
    }
    let planned = next_step(&batch.steps, &batch.stages).and_then(|next| batch.steps.get(next));
    match planned {
        Some(step) if !step.stage.is_of_pieces() => Next::Stage,
        _ => Next::Stuff,
    }
}

/// Within a twentieth of what was planned: a muscle weighs what it weighs. Common practice.
fn enough_meat(batch: &Standing) -> bool {
    batch.meat >= batch.meat_target.times(Decimal::new(95, 2))
}
