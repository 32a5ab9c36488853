//! What follows the making: the stages with their times and places, and the release of pieces.

use serde::{Deserialize, Serialize};
use time::{Duration, OffsetDateTime};

use super::formulation;
use super::standing::Standing;
use crate::book::{Effects, Entry, Line, Say, Seq};
use crate::error::Refusal;
use crate::ids::{BatchId, FamilyId, LotId, Named, PlaceId, ReviewId};
use crate::measure::{Grams, LotCode, Percent};
use crate::recipes::{RecipeStep, Role, Stage};

/// A batch enters a stage. `batch.staged`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BatchStaged {
    pub batch: BatchId,
    pub code: LotCode,
    pub stage: Stage,
    pub place: Named<PlaceId>,
    /// What moves there with it: its pieces, or the mix as long as there are none.
    pub lots: Vec<LotId>,
    /// Why it is not what the recipe plans, where it is not.
    #[serde(default)]
    pub reason: String,
}

impl Entry for BatchStaged {
    const KIND: &'static str = "batch.staged";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.batch).about(self.place.id);
        self.lots.iter().fold(effects, |effects, lot| effects.put(*lot, self.place.id))
    }

    fn line(&self, _say: &Say) -> Line {
        let reason = if self.reason.is_empty() { String::new() } else { format!(": {}", self.reason) };
        let line = Line::new(format!("Batch {} to {}", self.code, self.stage.word()))
            .why(format!("in {}{reason}", self.place.name));
        if self.reason.is_empty() { line } else { line.alarm("not as planned") }
    }
}

/// A piece as it was let go to sale.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReleasedPiece {
    pub lot: Named<LotId>,
    pub green: Grams,
    pub weight: Grams,
}

/// A criterion as it was met at the release.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MetThen {
    pub criterion: String,
    /// The piece that it was met for; none where it was met for the batch as a whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece: Option<LotId>,
    pub figure: String,
    /// The lines that showed it.
    #[serde(default)]
    pub by: Vec<Seq>,
}

/// What a release rested on: the family as it was written then, and each criterion as it was met.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shown {
    pub family: Named<FamilyId>,
    /// How often the family had been written.
    pub version: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub review: Option<ReviewId>,
    pub met: Vec<MetThen>,
}

/// Pieces are let go to sale by somebody who may decide that. `pieces.released`
///
/// It says who let them go and on what the book holds of them; it does not say that they are safe.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PiecesReleased {
    pub batch: BatchId,
    pub code: LotCode,
    pub pieces: Vec<ReleasedPiece>,
    #[serde(default)]
    pub note: String,
    /// What it rested on; none in releases from before families were written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown: Option<Shown>,
}

impl Entry for PiecesReleased {
    const KIND: &'static str = "pieces.released";
    const CAN_BE_STRUCK: bool = true;

    /// A piece can be sold because of this entry, so whatever is signed of it afterwards must be struck first.
    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.batch);
        let review = self.shown.as_ref().and_then(|shown| shown.review);
        let effects = review.into_iter().fold(effects, Effects::about);
        self.pieces.iter().fold(effects, |effects, piece| effects.opens(piece.lot.id))
    }

    fn line(&self, say: &Say) -> Line {
        let what = match self.pieces.as_slice() {
            [one] => format!("Piece {} released", one.lot.name),
            many => format!("{} pieces of {} released", many.len(), self.code),
        };
        let green: Grams = self.pieces.iter().map(|piece| piece.green).sum();
        let weight: Grams = self.pieces.iter().map(|piece| piece.weight).sum();
        let loss = format!("{} lost since green", Percent::of(green - weight, green).text());
        let shown = self.shown.as_ref().map_or_else(String::new, |shown| {
            format!("; every criterion of {}, version {}, was met", shown.family.name, shown.version)
        });
        let note = if self.note.is_empty() { String::new() } else { format!("; {}", self.note) };
        let why = format!("{loss}{shown}{note}");
        Line::new(what).why(why).figure(say.weight(weight))
    }
}

/// Whether a line of this kind is one of the records that a review looks over: a review, and what rests on one, is none.
pub fn is_record(kind: &str) -> bool {
    !matches!(kind, "records.reviewed" | "pieces.released" | "lot.packed" | "lots.dispatched")
}

/// Which step of the recipe comes next after the stages that were signed: each stage uses up the first step of its name
/// that is still to come, and with it every step before that one.
pub fn next_step(steps: &[RecipeStep], signed: &[Stage]) -> Option<usize> {
    let mut next = 0;
    for stage in signed {
        if let Some(found) = steps.iter().skip(next).position(|step| step.stage == *stage) {
            next += found + 1;
        }
    }
    (next < steps.len()).then_some(next)
}

/// How much sooner than planned the batch leaves its stage at `at`; nothing when it has had its hours.
pub fn early(batch: &Standing, at: OffsetDateTime) -> Option<Duration> {
    let step = current_step(batch)?;
    let over = batch.stage_at + Duration::hours(i64::from(step.hours));
    (at < over).then(|| over - at)
}

/// The step that the batch is in, where the recipe plans its stage.
fn current_step(batch: &Standing) -> Option<&RecipeStep> {
    let done = next_step(&batch.steps, &batch.stages).unwrap_or(batch.steps.len());
    let step = batch.steps.get(done.checked_sub(1)?)?;
    (step.stage == batch.stage).then_some(step)
}

/// A stage follows the one before it in time, and what the recipe does not plan has a reason. `at` is when it began.
pub fn stage(
    staged: BatchStaged,
    batch: &Standing,
    at: OffsetDateTime,
    say: Say,
) -> Result<BatchStaged, Refusal> {
    if !Stage::PLANNED.contains(&staged.stage) {
        return Err(Refusal::at("stage", "Choose the stage that it enters."));
    }
    if batch.stage == Stage::Released {
        return Err(Refusal::of("All of this batch is released. Strike the release to put it into a stage."));
    }
    if at < batch.stage_at {
        let message = format!("It entered the stage {} later than that.", batch.stage.word());
        return Err(Refusal::at("when", message));
    }
    made_so_far(&staged, batch)?;
    if batch.laid_on.is_some() || batch.weighings.iter().any(|one| one.role == Role::Cure) {
        formulation::goes_on(batch, batch.laid_on, &staged.reason, say)?;
    }
    if !staged.reason.is_empty() {
        return Ok(staged);
    }
    let planned = next_step(&batch.steps, &batch.stages).and_then(|next| batch.steps.get(next));
    match planned {
        Some(step) if step.stage != staged.stage => {
            let message = format!(
                "The recipe has {} next. Say why it goes to {} instead.",
                step.stage.word(),
                staged.stage.word()
            );
            Err(Refusal::at("reason", message))
        }
        None => {
            let message =
                format!("The recipe has no step of {} left. Say why it goes there.", staged.stage.word());
            Err(Refusal::at("reason", message))
        }
        Some(_) => match early(batch, at) {
            Some(short) => {
                let message = format!(
                    "{} is still {} short of its time. Say why it ends now.",
                    batch.stage.word(),
                    hours(short)
                );
                Err(Refusal::at("reason", message))
            }
            None => Ok(staged),
        },
    }
}

fn hours(short: Duration) -> String {
    let hours = short.whole_hours();
    match hours {
        0 => "less than an hour".into(),
        1..=71 => format!("{hours} h"),
        _ => format!("{} days", short.whole_days()),
    }
}

fn made_so_far(staged: &BatchStaged, batch: &Standing) -> Result<(), Refusal> {
    if !batch.has_meat() {
        return Err(Refusal::of("No meat was taken yet."));
    }
    if batch.kind.is_whole_muscle() && !batch.applied {
        return Err(Refusal::of("The cure is not on the pieces yet."));
    }
    if batch.pieces.is_empty() && staged.stage.is_of_pieces() {
        return Err(Refusal::at(
            "stage",
            format!("Stuff the mix before it goes to {}.", staged.stage.word()),
        ));
    }
    Ok(())
}

/// Pieces are let go from drying or holding, never on hold, and once.
pub fn release(released: PiecesReleased, batch: &Standing) -> Result<PiecesReleased, Refusal> {
    if !matches!(batch.stage, Stage::Drying | Stage::Holding) {
        return Err(Refusal::of(format!(
            "{} is in the stage {}. Pieces are released from drying or holding.",
            batch.code,
            batch.stage.word()
        )));
    }
    if released.pieces.is_empty() {
        return Err(Refusal::at("pieces", "Choose the pieces to release."));
    }
    for named in &released.pieces {
        let piece = batch.piece(named.lot.id).ok_or_else(|| {
            Refusal::at("pieces", format!("{} is not a piece of {}.", named.lot.name, batch.code))
        })?;
        piece.lot.usable("pieces")?;
        if piece.released {
            return Err(Refusal::at("pieces", format!("{} is released already.", piece.lot.code)));
        }
        if !piece.lot.grams.is_positive() {
            return Err(Refusal::at("pieces", format!("Nothing is left of {}.", piece.lot.code)));
        }
    }
    Ok(released)
}
