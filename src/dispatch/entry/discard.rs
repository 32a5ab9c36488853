//! Discarding: what is not fit to be sold or used goes to waste, with the reason in words.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::Leaving;
use super::lines::{self, Part};
use crate::book::{Account, Effects, Entry, Line, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{LotId, Named};
use crate::measure::Grams;

/// A lot that is thrown away, or a part of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DiscardLine {
    pub lot: Named<LotId>,
    pub description: String,
    pub weight: Grams,
}

/// Lots go to waste. `lots.discarded`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotsDiscarded {
    pub lines: Vec<DiscardLine>,
    pub reason: String,
}

impl LotsDiscarded {
    pub fn weight(&self) -> Grams {
        self.lines.iter().map(|line| line.weight).sum()
    }
}

impl Entry for LotsDiscarded {
    const KIND: &'static str = "lots.discarded";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none();
        let effects = self.lines.iter().fold(effects, |effects, line| effects.take(line.lot.id, line.weight));
        effects.account(Account::Waste, None, self.weight())
    }

    fn line(&self, say: &Say) -> Line {
        let lots: Vec<String> =
            self.lines.iter().map(|line| format!("{} {}", line.description, line.lot.name)).collect();
        Line::new(format!("Discarded {}", lots.join(", ")))
            .why(self.reason.clone())
            .figure(say.weight(self.weight()))
    }
}

/// Any lot that is there can be discarded, also one on hold. `lots` are those of the lines, in their order.
///
/// # Errors
/// Every line that cannot be thrown away, each at its own field.
pub fn discard(discarded: LotsDiscarded, lots: &[Leaving], say: &Say) -> Result<LotsDiscarded, Errors> {
    let mut errors = Errors::default();
    if discarded.lines.is_empty() {
        errors.push(Refusal::at("code", "Add the code of what is thrown away."));
    }
    let mut seen = BTreeSet::new();
    for (n, (line, leaving)) in discarded.lines.iter().zip(lots).enumerate() {
        let lot = lines::field(Part::Lot, n);
        let there = leaving.lot.in_the_book(lot).and_then(|()| leaving.something_left(lot)).and_then(|()| {
            leaving.lot.holds(line.weight, lines::field(Part::Weight, n), |grams| say.weight(grams))
        });
        if let Err(refusal) = there {
            errors.push(refusal);
        } else if !seen.insert(line.lot.id) {
            errors.push(Refusal::at(lot, format!("{} is on this list twice.", line.lot.name)));
        }
    }
    if errors.is_empty() { Ok(discarded) } else { Err(errors) }
}

#[cfg(test)]
mod tests {
    use super::super::tests::leaving;
    use super::*;
    use crate::book::Form;
    use crate::measure::UnitSystem;

    const SAY: Say = Say { system: UnitSystem::Metric };

    fn thrown(leaving: &Leaving, grams: i64) -> LotsDiscarded {
        let line = DiscardLine {
            lot: leaving.lot.named(),
            description: leaving.description.clone(),
            weight: Grams::whole(grams),
        };
        LotsDiscarded { lines: vec![line], reason: "slime on the casing".into() }
    }

    #[test]
    fn a_held_piece_and_an_unreleased_one_can_be_thrown_away() {
        let mut piece = Leaving { for_sale: false, ..leaving(3, Form::Piece, 900) };
        piece.lot.held = Some("pH of 5.6".into());
        let all = thrown(&piece, 900);
        assert!(all.effects().imbalance().is_zero());
        assert!(discard(all, &[piece], &SAY).is_ok());
    }

    #[test]
    fn no_more_is_thrown_away_than_there_is() {
        let piece = leaving(3, Form::Piece, 900);
        let errors = discard(thrown(&piece, 901), std::slice::from_ref(&piece), &SAY).expect_err("refused");
        assert!(errors.of("weight-1").is_some());
    }
}
