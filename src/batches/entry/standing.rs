//! A batch as it stands: what the rules look at before anything is signed.

use time::OffsetDateTime;

use crate::book::{Lot, Seq};
use crate::error::Refusal;
use crate::ids::{BatchId, ItemId, LotId, Named, PlaceId, RecipeId};
use crate::limits::InForce;
use crate::measure::{ExactGrams, Grams, LotCode, Percent};
use crate::recipes::{RecipeKind, RecipeLine, RecipeStep, Role, Stage};
use crate::standards::ingoing::{Brings, Curing};
use crate::standards::limits::Product;

/// A batch, its recipe version, and what has gone into it so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    pub batch: BatchId,
    pub code: LotCode,
    pub recipe: Named<RecipeId>,
    pub version: u16,
    pub kind: RecipeKind,
    pub product: Named<ItemId>,
    /// The lot that everything is weighed into.
    pub mix: Lot,
    pub meat_target: Grams,
    /// Meat that was taken, lines that were struck left out.
    pub meat: Grams,
    /// The same as it was typed.
    pub meat_exact: ExactGrams,
    /// How the cure meets the meat.
    pub curing: Curing,
    /// What the product falls under, as limits tell products apart.
    pub falls_under: Product,
    /// The limits that it is held to: those of the day on which it was begun.
    pub in_force: InForce,
    /// Every weighing that stands.
    pub weighings: Vec<Weighing>,
    /// What was laid on the pieces, and what was left over.
    pub laid_on: Option<(Grams, Grams)>,
    pub begun_at: OffsetDateTime,
    pub stage: Stage,
    pub stage_at: OffsetDateTime,
    pub place: Option<Named<PlaceId>>,
    pub target_loss: Option<Percent>,
    pub weigh_every: Option<u16>,
    pub lines: Vec<LineStanding>,
    pub steps: Vec<RecipeStep>,
    /// The stages that were signed, in order.
    pub stages: Vec<Stage>,
    pub pieces: Vec<PieceStanding>,
    /// Whether the cure was laid on the pieces.
    pub applied: bool,
}

/// A line of the recipe with what was weighed for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineStanding {
    /// Its place in the recipe, from 1.
    pub n: u16,
    pub line: RecipeLine,
    /// For the meat that was really taken; for the meat planned as long as none was.
    pub target: Grams,
    pub weighed: Grams,
    /// Whether somebody signed, with a reason, that it is outside its tolerance.
    pub explained: bool,
}

/// An ingredient as it was weighed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weighing {
    pub seq: Seq,
    /// The line of the recipe, from 1.
    pub n: u16,
    pub role: Role,
    pub name: String,
    pub weight: ExactGrams,
    /// What its lot's pack states; none where it states nothing.
    pub brings: Option<Brings>,
    /// Why it was signed outside its tolerance, or below a minimum.
    pub reason: String,
}

/// A piece of the batch that stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceStanding {
    pub lot: Lot,
    pub green: Grams,
    pub released: bool,
}

impl Standing {
    /// The meat that ingredients are weighed for: what was taken, or what is planned as long as nothing was.
    pub fn meat_block(&self) -> Grams {
        if self.meat.is_zero() { self.meat_target } else { self.meat }
    }

    /// Whether its meat is in: the muscles, or the mix.
    pub fn has_meat(&self) -> bool {
        self.meat.is_positive()
    }

    /// The lines that are weighed into the mix, in the recipe's order.
    pub fn ingredients(&self) -> impl Iterator<Item = &LineStanding> {
        self.lines.iter().filter(|line| !line.line.role.is_meat() && line.line.role != Role::Casing)
    }

    pub fn line(&self, n: u16) -> Option<&LineStanding> {
        self.lines.iter().find(|line| line.n == n)
    }

    /// The pieces by their lot.
    pub fn piece(&self, lot: LotId) -> Option<&PieceStanding> {
        self.pieces.iter().find(|piece| piece.lot.id == lot)
    }

    /// Meat and ingredients go in until the batch ferments, dries or is held.
    pub(super) fn takes_more(&self) -> Result<(), Refusal> {
        self.mix.usable("")?;
        if self.stage.is_of_pieces() || self.stage == Stage::Released {
            return Err(Refusal::of(format!(
                "{} is in the stage {}. Nothing goes into it any more.",
                self.code,
                self.stage.word()
            )));
        }
        Ok(())
    }

    /// What is made whole is not ground.
    pub(super) fn is_made_of(&self, whole_muscle: bool) -> Result<(), Refusal> {
        if self.kind.is_whole_muscle() == whole_muscle {
            return Ok(());
        }
        let way = if whole_muscle { "ground: its meat goes into the mix" } else { "made of whole muscles" };
        Err(Refusal::of(format!("{} is {way}.", self.code)))
    }
}
