//! From the first line of a batch to its cure: begin, take meat, lay the cure on.

use serde::{Deserialize, Serialize};

use super::formulation;
use super::ingredients::all_weighed;
use super::standing::Standing;
use crate::book::{Account, Effects, Entry, Form, Line, Lot, NewLot, Say};
use crate::error::Refusal;
use crate::ids::{BatchId, ItemId, LotId, Named, PlaceId, RecipeId};
use crate::measure::{ExactGrams, Grams, LotCode, Money, Percent, joint_shares};
use crate::recipes::RecipeKind;

/// A batch is begun: its code is given, and an empty lot for everything that is weighed into it. `batch.begun`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BatchBegun {
    pub batch: BatchId,
    pub code: LotCode,
    pub mix: LotId,
    pub recipe: Named<RecipeId>,
    pub version: u16,
    pub kind: RecipeKind,
    pub product: Named<ItemId>,
    /// The meat that it is planned for.
    pub meat_target: Grams,
    pub place: Named<PlaceId>,
}

impl Entry for BatchBegun {
    const KIND: &'static str = "batch.begun";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let mix = NewLot {
            id: self.mix,
            code: self.code,
            form: Form::Mix,
            item: self.product.clone(),
            place: Some(self.place.id),
        };
        Effects::none().open(mix).opens(self.batch).about(self.recipe.id)
    }

    fn line(&self, say: &Say) -> Line {
        Line::new(format!("Batch {} of {} begun", self.code, self.product.name))
            .why(format!("{}, version {}, in {}", self.recipe.name, self.version, self.place.name))
            .figure(say.weight(self.meat_target))
    }
}

/// Meat weighed into the mix. `meat.taken`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MeatTaken {
    pub batch: BatchId,
    pub mix: LotId,
    pub lot: Named<LotId>,
    pub item: Named<ItemId>,
    pub weight: Grams,
    /// As it was typed, where the ledger's 0.01 g do not say it all. Limits are held against this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exact: Option<ExactGrams>,
    /// Which line of the recipe it is for, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<u16>,
}

impl Entry for MeatTaken {
    const KIND: &'static str = "meat.taken";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().take(self.lot.id, self.weight).give(self.mix, self.weight).about(self.batch)
    }

    fn line(&self, say: &Say) -> Line {
        Line::new(self.item.name.clone())
            .why(format!("from {} into the mix", self.lot.name))
            .figure(say.weight(self.weight))
    }
}

/// One muscle taken for the batch; it is a piece from here on. `muscle.taken`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MuscleTaken {
    pub batch: BatchId,
    pub lot: Named<LotId>,
    pub item: Named<ItemId>,
    pub piece: LotId,
    pub code: LotCode,
    pub product: Named<ItemId>,
    /// Its green weight.
    pub weight: Grams,
    /// As it was typed, where the ledger's 0.01 g do not say it all. Limits are held against this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exact: Option<ExactGrams>,
    pub place: Named<PlaceId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<u16>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_loss: Option<Percent>,
    /// Days between weigh-ins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weigh_every: Option<u16>,
}

impl Entry for MuscleTaken {
    const KIND: &'static str = "muscle.taken";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let piece = NewLot {
            id: self.piece,
            code: self.code,
            form: Form::Piece,
            item: self.product.clone(),
            place: Some(self.place.id),
        };
        let moved = Effects::none().take(self.lot.id, self.weight).open(piece);
        moved.give(self.piece, self.weight).about(self.batch)
    }

    fn line(&self, say: &Say) -> Line {
        Line::new(format!("{}, piece {}", self.item.name, self.code))
            .why(format!("from {}, to {}", self.lot.name, self.place.name))
            .figure(say.weight(self.weight))
    }
}

/// What one piece takes of the cure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PieceShare {
    pub lot: Named<LotId>,
    pub weight: Grams,
}

/// The cure, or the brine, laid on the pieces by their weight. `cure.applied`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CureApplied {
    pub batch: BatchId,
    pub mix: LotId,
    pub pieces: Vec<PieceShare>,
    /// What was left over and thrown away.
    pub left_over: Grams,
    #[serde(default)]
    pub reason: String,
}

impl CureApplied {
    pub fn total(&self) -> Grams {
        self.pieces.iter().map(|piece| piece.weight).sum()
    }
}

impl Entry for CureApplied {
    const KIND: &'static str = "cure.applied";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none()
            .take(self.mix, self.total() + self.left_over)
            .account(Account::Waste, None, self.left_over)
            .settles(self.mix)
            .about(self.batch);
        self.pieces.iter().fold(effects, |effects, piece| effects.give(piece.lot.id, piece.weight))
    }

    fn line(&self, say: &Say) -> Line {
        let pieces = counted(self.pieces.len());
        let left = if self.left_over.is_zero() {
            String::new()
        } else {
            format!(", {} left over", say.weight(self.left_over))
        };
        let reason = if self.reason.is_empty() { String::new() } else { format!(": {}", self.reason) };
        Line::new(format!("Cure on {pieces}"))
            .why(format!("shared by weight{left}{reason}"))
            .figure(say.weight(self.total()))
    }
}

/// "1 piece", "12 pieces"
pub(super) fn counted(pieces: usize) -> String {
    if pieces == 1 { "1 piece".into() } else { format!("{pieces} pieces") }
}

/// A batch is made by a recipe in use, for some meat.
pub fn begin(begun: BatchBegun, retired: bool) -> Result<BatchBegun, Refusal> {
    if retired {
        return Err(Refusal::at("recipe", "This recipe was laid aside. Take it up again first."));
    }
    if !begun.meat_target.is_positive() {
        return Err(Refusal::at("meat", "Say how much meat it is planned for."));
    }
    Ok(begun)
}

/// Meat comes off a lot that holds it, into a mix that has not been stuffed.
pub fn take_meat(taken: MeatTaken, batch: &Standing, lot: &Lot, say: &Say) -> Result<MeatTaken, Refusal> {
    batch.is_made_of(false)?;
    batch.takes_more()?;
    if !batch.pieces.is_empty() {
        return Err(Refusal::of("This batch is stuffed. Strike that line to take more meat."));
    }
    is_meat(lot)?;
    fits_line(taken.line, batch)?;
    lot.holds(taken.weight, "weight", |grams| say.weight(grams))?;
    Ok(taken)
}

/// A muscle comes off a lot that holds it, before the cure is laid on.
pub fn take_muscle(
    taken: MuscleTaken,
    batch: &Standing,
    lot: &Lot,
    say: &Say,
) -> Result<MuscleTaken, Refusal> {
    batch.is_made_of(true)?;
    batch.takes_more()?;
    if batch.applied {
        return Err(Refusal::of("The cure is on the pieces. Strike that line to take another muscle."));
    }
    is_meat(lot)?;
    fits_line(taken.line, batch)?;
    lot.holds(taken.weight, "weight", |grams| say.weight(grams))?;
    Ok(taken)
}

fn is_meat(lot: &Lot) -> Result<(), Refusal> {
    lot.usable("lot")?;
    let raw = lot.form.is_meat() && !matches!(lot.form, Form::Mix | Form::Piece | Form::Pack | Form::Bone);
    if raw {
        Ok(())
    } else {
        Err(Refusal::at("lot", format!("{} is a {}, not raw meat.", lot.code, lot.form.word())))
    }
}

fn fits_line(line: Option<u16>, batch: &Standing) -> Result<(), Refusal> {
    let Some(n) = line else { return Ok(()) };
    match batch.line(n) {
        Some(line) if line.line.role.is_meat() => Ok(()),
        _ => Err(Refusal::at("line", "The recipe has no such meat.")),
    }
}

/// Shares a weight by weights so that the shares add up to it: each cut down to 0.01 g, what is left over to the largest
/// remainders. A hundredth of a gram is shared as a cent is.
pub fn share_out(total: Grams, by: &[Grams]) -> Vec<Grams> {
    let weights: Vec<_> = by.iter().map(|grams| grams.decimal()).collect();
    let shares = joint_shares(Money::new(total.decimal()), &weights);
    shares.into_iter().map(|share| Grams::new(share.decimal())).collect()
}

/// The cure goes on all muscles of the batch, once everything in it is weighed.
pub fn apply_cure(
    applied: CureApplied,
    batch: &Standing,
    division: Grams,
    say: &Say,
) -> Result<CureApplied, Refusal> {
    batch.is_made_of(true)?;
    batch.takes_more()?;
    if batch.pieces.is_empty() {
        return Err(Refusal::of("No muscle was taken yet."));
    }
    if batch.mix.grams.is_zero() {
        return Err(Refusal::of("Nothing was weighed yet that could be laid on."));
    }
    if let Some(held) = batch.pieces.iter().find(|piece| piece.lot.usable("").is_err()) {
        held.lot.usable("")?;
    }
    if applied.left_over >= batch.mix.grams {
        return Err(Refusal::at("left_over", "More than that was weighed. Something went on the pieces."));
    }
    all_weighed(batch, division, &applied.reason, *say)?;
    // With what really goes on the pieces: a pump that took more than planned shows here.
    let laid_on = (applied.total(), applied.left_over);
    formulation::goes_on(batch, Some(laid_on), &applied.reason, *say)?;
    Ok(applied)
}
