//! The breaking-down of one lot: opened, its source weighed again, closed.

use serde::{Deserialize, Serialize};

use super::OnTheBlock;
use crate::book::{Account, Effects, Entry, Form, Line, Lot, Say};
use crate::error::Refusal;
use crate::ids::{BreakdownId, CutListId, LotId, Named};
use crate::measure::{Grams, Percent};

/// A lot is laid on the block. `breakdown.opened`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BreakdownOpened {
    pub breakdown: BreakdownId,
    pub lot: Named<LotId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_list: Option<Named<CutListId>>,
    /// What lay on the block then.
    pub taken_in: Grams,
}

impl Entry for BreakdownOpened {
    const KIND: &'static str = "breakdown.opened";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().opens(self.breakdown).about(self.lot.id)
    }

    fn line(&self, say: &Say) -> Line {
        let list =
            self.cut_list.as_ref().map_or_else(|| "without a cut list".into(), |list| list.name.clone());
        Line::new(format!("{} laid on the block", self.lot.name)).why(list).figure(say.weight(self.taken_in))
    }
}

/// A lot comes on the block whole or as what is left of it, never while it is on hold.
pub fn open(opened: BreakdownOpened, lot: &Lot, say: &Say) -> Result<BreakdownOpened, Refusal> {
    lot.usable("lot")?;
    if !lot.form.is_meat() || matches!(lot.form, Form::Mix | Form::Piece | Form::Pack) {
        return Err(Refusal::at(
            "lot",
            format!("{} is not broken down: it is a {}.", lot.code, lot.form.word()),
        ));
    }
    if opened.taken_in != lot.grams || lot.grams.is_zero() {
        let message = format!("{} holds {} now. Open the page again.", lot.code, say.weight(lot.grams));
        return Err(Refusal::at("lot", message));
    }
    Ok(opened)
}

/// The source on the block is laid on the scale again and weighs something else than the book says. More comes from
/// the account found, less goes to missing: neither is hidden in a cut or in the loss. `source.reweighed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SourceReweighed {
    pub breakdown: BreakdownId,
    pub source: Named<LotId>,
    /// What the book said still lay on the block.
    pub was: Grams,
    /// What the scale says.
    pub is: Grams,
    pub reason: String,
}

impl SourceReweighed {
    /// Positive: found. Negative: missing.
    pub fn found(&self) -> Grams {
        self.is - self.was
    }
}

impl Entry for SourceReweighed {
    const KIND: &'static str = "source.reweighed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let found = self.found();
        let effects = Effects::none().give(self.source.id, found);
        let account = if found.is_negative() { Account::Missing } else { Account::Found };
        effects.account(account, None, -found).settles(self.source.id).about(self.breakdown)
    }

    fn line(&self, say: &Say) -> Line {
        let word = if self.found().is_negative() { "missing" } else { "found" };
        Line::new(format!("{} weighed again, {} {word}", self.source.name, say.weight(self.found().abs())))
            .why(self.reason.clone())
            .figure(say.weight(self.is))
    }
}

/// A source is weighed again while it lies on the block, and only where the scale says something new.
pub fn reweigh(said: SourceReweighed, block: &OnTheBlock, say: &Say) -> Result<SourceReweighed, Refusal> {
    block.open("Strike its closing line first.")?;
    block.source.in_the_book("")?;
    if said.was != block.source.grams {
        let message =
            format!("{} lies on the block now. Open the page again.", say.weight(block.source.grams));
        return Err(Refusal::of(message));
    }
    if said.found().is_zero() {
        return Err(Refusal::at("weight", "The book says the same. There is nothing to write."));
    }
    Ok(said)
}

/// The breakdown is done: what is left is the cutting loss. `breakdown.closed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BreakdownClosed {
    pub breakdown: BreakdownId,
    pub source: Named<LotId>,
    pub taken_in: Grams,
    /// What was found by weighing the source again; negative where it was missing.
    pub found: Grams,
    pub loss: Grams,
    /// The loss that needed no reason then, per cent of what was taken in.
    pub tolerance: Percent,
    pub reason: String,
}

impl BreakdownClosed {
    /// Per cent of what was taken in.
    pub fn loss_share(&self) -> Percent {
        Percent::of(self.loss, self.taken_in)
    }
}

impl Entry for BreakdownClosed {
    const KIND: &'static str = "breakdown.closed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none()
            .take(self.source.id, self.loss)
            .account(Account::CuttingLoss, None, self.loss)
            .settles(self.source.id)
            .about(self.breakdown)
    }

    fn line(&self, say: &Say) -> Line {
        let share = self.loss_share();
        let mut why = format!("{} of {} taken in", share.text_places(2), say.weight(self.taken_in));
        if !self.found.is_zero() {
            let word = if self.found.is_negative() { "missing" } else { "found" };
            why = format!("{why}, {} {word}", say.weight(self.found.abs()));
        }
        if !self.reason.is_empty() {
            why = format!("{why}: {}", self.reason);
        }
        let line = Line::new(format!("Breakdown of {} closed, cutting loss", self.source.name))
            .why(why)
            .figure(say.weight(self.loss));
        if share > self.tolerance { line.alarm("over tolerance") } else { line }
    }
}

/// What is left on the block is the cutting loss. Over the tolerance it needs a reason.
pub fn close(block: &OnTheBlock, reason: String, say: &Say) -> Result<BreakdownClosed, Refusal> {
    block.open("Look at its result below.")?;
    block.source.in_the_book("")?;
    if block.cuts == 0 {
        return Err(Refusal::of(
            "Nothing was weighed off it yet. Strike its opening line to take it off the block.",
        ));
    }
    let closed = BreakdownClosed {
        breakdown: block.breakdown,
        source: block.source.named(),
        taken_in: block.taken_in,
        found: block.found,
        loss: block.source.grams,
        tolerance: block.tolerance,
        reason,
    };
    if closed.loss_share() > closed.tolerance && closed.reason.is_empty() {
        return Err(Refusal::at(
            "reason",
            format!(
                "The loss of {} is {} of what was taken in, more than the {} that needs no reason. Say why.",
                say.weight(closed.loss),
                closed.loss_share().text_places(2),
                closed.tolerance.text()
            ),
        ));
    }
    Ok(closed)
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::super::tests::{SAY, block, carcass};
    use super::*;

    fn reweighed(was: i64, is: i64) -> SourceReweighed {
        SourceReweighed {
            breakdown: BreakdownId(Uuid::from_u128(3)),
            source: carcass(was).named(),
            was: Grams::whole(was),
            is: Grams::whole(is),
            reason: "read from the docket, not from our scale".into(),
        }
    }

    #[test]
    fn a_held_carcass_does_not_come_on_the_block() {
        let held = Lot { held: Some("surface at 6.2 °C".into()), ..carcass(92_400) };
        let opened = BreakdownOpened {
            breakdown: BreakdownId(Uuid::from_u128(3)),
            lot: held.named(),
            cut_list: None,
            taken_in: held.grams,
        };
        assert_eq!(open(opened, &held, &SAY).expect_err("refused").field, "lot");
    }

    #[test]
    fn what_the_scale_finds_comes_from_found_and_what_it_misses_goes_to_missing() {
        let found = reweighed(1_000, 1_090).effects();
        assert!(found.imbalance().is_zero());
        assert!(found.movements.iter().any(|m| m.side == crate::book::Side::Account(Account::Found, None)));
        let missing = reweighed(1_000, 400).effects();
        assert!(missing.imbalance().is_zero());
        assert!(
            missing.movements.iter().any(|m| m.side == crate::book::Side::Account(Account::Missing, None))
        );
    }

    #[test]
    fn weighing_again_what_weighs_the_same_writes_nothing() {
        assert_eq!(
            reweigh(reweighed(1_000, 1_000), &block(1_000), &SAY).expect_err("the same").field,
            "weight"
        );
        assert!(reweigh(reweighed(1_000, 1_001), &block(1_000), &SAY).is_ok());
        assert!(reweigh(reweighed(900, 1_001), &block(1_000), &SAY).is_err());
    }

    #[test]
    fn what_is_left_at_the_close_is_the_cutting_loss() {
        let closed = close(&block(940), String::new(), &SAY).expect("within tolerance");
        assert_eq!(closed.loss, Grams::whole(940));
        assert!(closed.effects().imbalance().is_zero());
    }

    #[test]
    fn a_loss_over_the_tolerance_needs_a_reason() {
        // 3 % of 92,400 g is 2,772 g.
        assert!(close(&block(2_772), String::new(), &SAY).is_ok());
        assert_eq!(close(&block(2_773), String::new(), &SAY).expect_err("no reason").field, "reason");
        let closed = close(&block(2_773), "a hock fell".into(), &SAY).expect("with its reason");
        assert_eq!(closed.line(&SAY).alarm, Some("over tolerance"));
    }

    #[test]
    fn a_breakdown_without_a_cut_is_not_closed() {
        let bare = OnTheBlock { cuts: 0, ..block(92_400) };
        assert!(close(&bare, "changed my mind".into(), &SAY).is_err());
    }

    #[test]
    fn a_closed_breakdown_is_not_closed_again() {
        assert!(close(&OnTheBlock { closed: true, ..block(0) }, String::new(), &SAY).is_err());
    }
}
