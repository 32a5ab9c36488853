//! The mix made into pieces that together weigh what it weighed, less a recorded loss.

use serde::{Deserialize, Serialize};

use super::ingredients::all_weighed;
use super::making::counted;
use super::standing::Standing;
use crate::book::{Account, Effects, Entry, Form, Line, NewLot, Say};
use crate::error::Refusal;
use crate::ids::{BatchId, ItemId, LotId, Named, PlaceId};
use crate::measure::{Grams, LotCode, Percent};

/// The most pieces that one batch is stuffed into.
pub const MOST_PIECES: usize = 999;

/// More than this stays in no stuffer without somebody saying why, per cent of what came out of the mix. Common practice.
const USUAL_LOSS: i64 = 5;

/// Where a casing comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Casing {
    pub lot: Named<LotId>,
    /// Nothing where it was not weighed.
    pub weight: Grams,
}

/// One piece that was stuffed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StuffedPiece {
    pub lot: LotId,
    pub code: LotCode,
    pub weight: Grams,
}

/// The mix is made into pieces. `mix.stuffed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MixStuffed {
    pub batch: BatchId,
    pub mix: LotId,
    pub product: Named<ItemId>,
    pub pieces: Vec<StuffedPiece>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub casing: Option<Casing>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter_mm: Option<u16>,
    /// What stayed in the stuffer and was thrown away.
    pub loss: Grams,
    /// What the pieces weigh more than the mix did. Never hidden: the reason says where it comes from.
    #[serde(default = "nothing")]
    pub found: Grams,
    #[serde(default)]
    pub reason: String,
    pub place: Named<PlaceId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_loss: Option<Percent>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weigh_every: Option<u16>,
}

fn nothing() -> Grams {
    Grams::ZERO
}

impl MixStuffed {
    /// What the pieces weigh together.
    pub fn total(&self) -> Grams {
        self.pieces.iter().map(|piece| piece.weight).sum()
    }

    pub fn casing_weight(&self) -> Grams {
        self.casing.as_ref().map_or(Grams::ZERO, |casing| casing.weight)
    }

    /// What comes out of the mix.
    pub fn out_of_the_mix(&self) -> Grams {
        self.total() + self.loss - self.casing_weight() - self.found
    }
}

impl Entry for MixStuffed {
    const KIND: &'static str = "mix.stuffed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none()
            .take(self.mix, self.out_of_the_mix())
            .account(Account::Waste, None, self.loss)
            .account(Account::Found, None, -self.found)
            .settles(self.mix)
            .about(self.batch);
        let effects = match &self.casing {
            Some(casing) if !casing.weight.is_zero() => effects.take(casing.lot.id, casing.weight),
            Some(casing) => effects.about(casing.lot.id),
            None => effects,
        };
        self.pieces.iter().fold(effects, |effects, piece| {
            let lot = NewLot {
                id: piece.lot,
                code: piece.code,
                form: Form::Piece,
                item: self.product.clone(),
                place: Some(self.place.id),
            };
            effects.open(lot).give(piece.lot, piece.weight)
        })
    }

    fn line(&self, say: &Say) -> Line {
        let casing =
            self.casing.as_ref().map_or_else(String::new, |casing| format!(", casing {}", casing.lot.name));
        let diameter = self.diameter_mm.map_or_else(String::new, |mm| format!(", {mm} mm"));
        let rest = if self.found.is_positive() {
            format!(", {} more than the mix: {}", say.weight(self.found), self.reason)
        } else if self.loss.is_positive() {
            let reason = if self.reason.is_empty() { String::new() } else { format!(": {}", self.reason) };
            format!(", {} lost in stuffing{reason}", say.weight(self.loss))
        } else {
            String::new()
        };
        let line = Line::new(format!("Stuffed into {}", counted(self.pieces.len())))
            .why(format!("to {}{casing}{diameter}{rest}", self.place.name))
            .figure(say.weight(self.total()));
        if self.found.is_positive() { line.alarm("gain") } else { line }
    }
}

/// A mix is stuffed once everything in it is weighed; the pieces weigh what it weighed, less the loss.
pub fn stuff(
    stuffed: MixStuffed,
    batch: &Standing,
    division: Grams,
    say: &Say,
) -> Result<MixStuffed, Refusal> {
    batch.is_made_of(false)?;
    batch.takes_more()?;
    if !batch.has_meat() {
        return Err(Refusal::of("No meat was taken yet."));
    }
    if stuffed.pieces.is_empty() || stuffed.pieces.len() > MOST_PIECES {
        return Err(Refusal::at("count", format!("Give 1 to {MOST_PIECES} pieces.")));
    }
    all_weighed(batch, division, &stuffed.reason, *say)?;
    if stuffed.found.is_positive() && stuffed.reason.is_empty() {
        let message = format!(
            "The pieces weigh {} more than there was. Weigh again, or say where it comes from.",
            say.weight(stuffed.found)
        );
        return Err(Refusal::at("reason", message));
    }
    let usual = Percent::new(USUAL_LOSS.into()).of_weight(stuffed.out_of_the_mix());
    if stuffed.loss > usual && stuffed.reason.is_empty() {
        let message =
            format!("{} is lost in stuffing, more than {USUAL_LOSS} %. Say why.", say.weight(stuffed.loss));
        return Err(Refusal::at("reason", message));
    }
    if stuffed.out_of_the_mix() > batch.mix.grams {
        let message =
            format!("The mix holds {}. So much cannot come out of it.", say.weight(batch.mix.grams));
        return Err(Refusal::at("weights", message));
    }
    Ok(stuffed)
}
