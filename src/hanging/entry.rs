//! What the book says of where things hang and what they weigh there, and the rules of a move and a weigh-in.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::OffsetDateTime;

use crate::book::{Account, Effects, Entry, Form, Line, Lot, Say};
use crate::error::Refusal;
use crate::ids::{BatchId, InstrumentId, LotId, Named, PlaceId};
use crate::measure::{Grams, Percent};
use crate::standards::drying;

/// How many codes a line of the book names before it only counts them.
const NAMED: usize = 6;

/// Lots are hung or put somewhere else. `lots.moved`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotsMoved {
    pub lots: Vec<Named<LotId>>,
    pub to: Named<PlaceId>,
    /// The hook, where one piece hangs on a hook with a name.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub hook: String,
}

impl Entry for LotsMoved {
    const KIND: &'static str = "lots.moved";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        self.lots.iter().fold(Effects::none(), |effects, lot| effects.put(lot.id, self.to.id))
    }

    fn line(&self, _say: &Say) -> Line {
        let codes: Vec<&str> = self.lots.iter().take(NAMED).map(|lot| lot.name.as_str()).collect();
        let hook = if self.hook.is_empty() { String::new() } else { format!(", hook {}", self.hook) };
        let to = format!("to {}{hook}", self.to.name);
        match self.lots.as_slice() {
            [lot] => Line::new(format!("{} moved", lot.name)).why(to),
            lots => {
                let more = lots.len().saturating_sub(NAMED);
                let more = if more == 0 { String::new() } else { format!(" and {more} more") };
                Line::new(format!("{} lots moved", lots.len()))
                    .why(format!("{to}: {}{more}", codes.join(", ")))
            }
        }
    }
}

/// Each lot is moved once, it must be there to be moved, and a hook carries one piece. `lots` are what the book says of
/// those in `moved`.
pub fn move_lots(moved: LotsMoved, lots: &[Lot]) -> Result<LotsMoved, Refusal> {
    if lots.is_empty() {
        return Err(Refusal::at("codes", "Give the code of what is moved, one on a line."));
    }
    if lots.len() > 1 && !moved.hook.is_empty() {
        return Err(Refusal::at(
            "hook",
            "A hook carries one piece. Leave the hook empty to move several at once.",
        ));
    }
    for lot in lots {
        lot.in_the_book("codes")?;
        if lot.grams.is_zero() {
            return Err(Refusal::at("codes", format!("Nothing of {} is left in the shop.", lot.code)));
        }
    }
    if moved.hook.is_empty() && lots.iter().all(|lot| lot.place == Some(moved.to.id)) {
        return Err(Refusal::at("to", format!("It is in {} already.", moved.to.name)));
    }
    Ok(moved)
}

/// A piece is taken off its hook, weighed and hung again. `piece.weighed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PieceWeighed {
    pub lot: Named<LotId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<BatchId>,
    pub weight: Grams,
    /// What the book said before.
    pub before: Grams,
    /// The base of its loss; none for a muscle that hangs without having been in cure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub green: Option<Grams>,
    /// Where the difference goes: drying, or purge while it lies in cure; a gain comes from `found`.
    pub to: Account,
    /// Why it is heavier than before, or than when it was green.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// Whether the person was asked to read the scale again, and did.
    #[serde(default)]
    pub read_again: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<Named<InstrumentId>>,
}

impl PieceWeighed {
    /// What was lost since it was weighed before; a gain is below zero.
    pub fn lost(&self) -> Grams {
        self.before - self.weight
    }

    /// Per cent of green weight lost, a gain below zero; none where there is no green weight.
    pub fn loss(&self) -> Option<Percent> {
        Some(drying::change(self.green?, self.weight).ok()?.loss_percent())
    }

    fn said_of_loss(&self, say: &Say) -> Option<String> {
        let green = self.green?;
        let change = drying::change(green, self.weight).ok()?;
        let word = if change.is_gain() { "above" } else { "lost of" };
        Some(format!("{} {word} {} green", change.percent().text(), say.weight(green)))
    }
}

impl Entry for PieceWeighed {
    const KIND: &'static str = "piece.weighed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().settles(self.lot.id).take(self.lot.id, self.lost()).account(
            self.to,
            None,
            self.lost(),
        );
        let effects = self.batch.iter().fold(effects, |effects, batch| effects.about(*batch));
        self.instrument.iter().fold(effects, |effects, one| effects.about(one.id))
    }

    fn line(&self, say: &Say) -> Line {
        let loss = self.said_of_loss(say).unwrap_or_default();
        let scale = self.instrument.as_ref().map_or("", |one| one.name.as_str());
        let again = if self.read_again { "scale read again" } else { "" };
        let why: Vec<&str> = [loss.as_str(), scale, self.reason.as_str(), again]
            .into_iter()
            .filter(|said| !said.is_empty())
            .collect();
        let line = Line::new(format!("{} weighed in", self.lot.name))
            .why(why.join(", "))
            .figure(say.weight(self.weight));
        if self.lost().is_negative() { line.alarm("gain") } else { line }
    }
}

/// A piece as the rule of a weigh-in needs to know it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnTheHook {
    pub lot: Lot,
    pub batch: Option<BatchId>,
    /// Whether its batch lies in cure or rests: then what is lost is purge.
    pub in_cure: bool,
    pub green: Option<Grams>,
    /// Its meat and the cure that was laid on it: more than that it cannot weigh without a reason.
    pub went_in: Grams,
    /// When it became what it is, or was weighed in last.
    pub since: OffsetDateTime,
    pub on_the_block: bool,
}

/// What was read off the scale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weighed {
    pub weight: Grams,
    pub reason: String,
    pub read_again: bool,
    pub instrument: Option<Named<InstrumentId>>,
    pub at: OffsetDateTime,
}

/// A loss of more points of green weight than this since the weigh-in before is read once more: it is usually the hook
/// beside it. Common practice; the published curves of reference lose as much in their first weeks only.
const POINTS: Decimal = Decimal::from_parts(15, 0, 0, false, 0);

/// Whether a lot of this form is weighed in as it hangs. Everything else is counted.
pub fn is_weighed_in(form: Form) -> bool {
    matches!(form, Form::Piece | Form::Cut | Form::Primal)
}

/// What a scale says of a hanging piece, held against what the book says of it.
pub fn weigh_in(weighed: Weighed, hook: &OnTheHook, say: &Say) -> Result<PieceWeighed, Refusal> {
    can_be_weighed(hook)?;
    if weighed.at < hook.since {
        let message = "The book has a later weight of it than this. Give the time when it was on the scale, or strike \
                       the later line first.";
        return Err(Refusal::at("when", message));
    }
    if !weighed.weight.is_positive() {
        return Err(Refusal::at("weight", "A weight here must be more than zero."));
    }
    let before = hook.lot.grams;
    explained(&weighed, hook, say)?;
    read_twice(&weighed, hook, say)?;
    let to = match (weighed.weight > before, hook.in_cure) {
        (true, _) => Account::Found,
        (false, true) => Account::Purge,
        (false, false) => Account::Drying,
    };
    Ok(PieceWeighed {
        lot: hook.lot.named(),
        batch: hook.batch,
        weight: weighed.weight,
        before,
        green: hook.green,
        to,
        reason: weighed.reason,
        read_again: weighed.read_again,
        instrument: weighed.instrument,
    })
}

fn can_be_weighed(hook: &OnTheHook) -> Result<(), Refusal> {
    let lot = &hook.lot;
    lot.in_the_book("code")?;
    if !is_weighed_in(lot.form) {
        let message = format!(
            "{} is not weighed in: it is of the form {}. Pieces and whole muscles are; other lots are counted on their page.",
            lot.code,
            lot.form.word()
        );
        return Err(Refusal::at("code", message));
    }
    if lot.grams.is_zero() {
        return Err(Refusal::at("code", format!("Nothing of {} is left in the shop.", lot.code)));
    }
    if hook.on_the_block {
        return Err(Refusal::at(
            "code",
            format!("{} lies on the block. Close its breakdown first.", lot.code),
        ));
    }
    Ok(())
}

/// Nothing grows heavier by hanging: a gain, or more than the green weight and the cure on it, is explained.
fn explained(weighed: &Weighed, hook: &OnTheHook, say: &Say) -> Result<(), Refusal> {
    if !weighed.reason.is_empty() {
        return Ok(());
    }
    let before = hook.lot.grams;
    if weighed.weight > before {
        let message = format!(
            "That is {} more than before, when it was {}. Read the code and the scale again, or say why it is heavier.",
            say.weight(weighed.weight - before),
            say.weight(before)
        );
        return Err(Refusal::at("reason", message));
    }
    match hook.green {
        Some(green) if weighed.weight > green.max(hook.went_in) => {
            let message = format!("That is more than its green weight of {}. Say why.", say.weight(green));
            Err(Refusal::at("reason", message))
        }
        _ => Ok(()),
    }
}

fn read_twice(weighed: &Weighed, hook: &OnTheHook, say: &Say) -> Result<(), Refusal> {
    let before = hook.lot.grams;
    let lost = Percent::of(before - weighed.weight, hook.green.unwrap_or(before));
    if lost.decimal() <= POINTS || weighed.read_again {
        return Ok(());
    }
    let message = format!(
        "That is {} of its weight lost at once: it was {} before. Is it the hook beside it? Read the code and the scale again.",
        lost.text(),
        say.weight(before)
    );
    Err(Refusal::at("again", message))
}

#[cfg(test)]
mod tests;
