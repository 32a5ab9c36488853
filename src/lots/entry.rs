//! What the book says of counting stock, and the rule of it.

use serde::{Deserialize, Serialize};

use crate::book::{Account, Effects, Entry, Form, Line, Lot, Say};
use crate::error::Refusal;
use crate::ids::{LotId, Named};
use crate::measure::Grams;

/// Somebody looked how much of a lot is there. `lot.counted`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotCounted {
    pub lot: Named<LotId>,
    pub item: String,
    /// What was there; may be nothing.
    pub weight: Grams,
    /// What the book said before.
    pub before: Grams,
    /// Why they differ.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

impl LotCounted {
    fn difference(&self) -> Grams {
        self.weight - self.before
    }
}

impl Entry for LotCounted {
    const KIND: &'static str = "lot.counted";
    const CAN_BE_STRUCK: bool = true;

    /// More comes from `found`, less goes to `missing`.
    fn effects(&self) -> Effects {
        let difference = self.difference();
        let account = if difference.is_negative() { Account::Missing } else { Account::Found };
        Effects::none().settles(self.lot.id).give(self.lot.id, difference).account(account, None, -difference)
    }

    fn line(&self, say: &Say) -> Line {
        let difference = self.difference();
        let line =
            Line::new(format!("{} {} counted", self.item, self.lot.name)).figure(say.weight(self.weight));
        if difference.is_zero() {
            return line.why("as the book has it");
        }
        let word = if difference.is_negative() { "less" } else { "more" };
        line.why(format!("{} {word} than in the book: {}", say.weight(difference.abs()), self.reason))
            .alarm(word)
    }
}

impl crate::book::Project for LotCounted {}

/// Whether a lot of this form is counted. Pieces are weighed in; a mix is what was weighed into it.
pub fn is_counted(form: Form) -> bool {
    !matches!(form, Form::Piece | Form::Mix)
}

/// A count that differs from the book says why, and what lies on the block is settled there.
pub fn count(counted: LotCounted, lot: &Lot, on_the_block: bool) -> Result<LotCounted, Refusal> {
    lot.in_the_book("")?;
    if !is_counted(lot.form) {
        let instead = if lot.form == Form::Piece {
            "a piece is weighed in"
        } else {
            "a mix holds what was weighed into it"
        };
        return Err(Refusal::of(format!("{} is not counted: {instead}.", lot.code)));
    }
    if on_the_block {
        return Err(Refusal::of(format!(
            "{} lies on the block. What is left of it is stated when its breakdown is closed.",
            lot.code
        )));
    }
    if counted.difference() != Grams::ZERO && counted.reason.is_empty() {
        return Err(Refusal::at(
            "reason",
            "The book has another weight. Say why they differ, as far as is known.",
        ));
    }
    Ok(counted)
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;
    use crate::book::Seq;
    use crate::ids::ItemId;

    fn salt(grams: i64) -> Lot {
        Lot {
            id: LotId(Uuid::from_u128(1)),
            code: "26290-04".parse().expect("a code"),
            form: Form::Ingredient,
            item: ItemId(Uuid::from_u128(2)),
            item_name: "sea salt".into(),
            place: None,
            grams: Grams::whole(grams),
            seq: Seq(1),
            held: None,
            struck: false,
        }
    }

    fn counted(lot: &Lot, grams: i64, reason: &str) -> LotCounted {
        LotCounted {
            lot: lot.named(),
            item: lot.item_name.clone(),
            weight: Grams::whole(grams),
            before: lot.grams,
            reason: reason.into(),
        }
    }

    fn account_of(entry: &LotCounted) -> Vec<(Account, Grams)> {
        let effects = entry.effects();
        assert!(effects.imbalance().is_zero());
        effects
            .movements
            .iter()
            .filter_map(|movement| match movement.side {
                crate::book::Side::Account(account, _) => Some((account, movement.grams)),
                crate::book::Side::Lot(_) => None,
            })
            .collect()
    }

    #[test]
    fn what_is_not_there_goes_to_missing_and_what_is_more_comes_from_found() {
        let lot = salt(25_000);
        assert_eq!(account_of(&counted(&lot, 24_000, "spilt")), [(Account::Missing, Grams::whole(1_000))]);
        assert_eq!(
            account_of(&counted(&lot, 25_500, "sack was full")),
            [(Account::Found, Grams::whole(-500))]
        );
        assert_eq!(account_of(&counted(&lot, 25_000, "")), []);
    }

    #[test]
    fn a_count_that_differs_says_why() {
        let lot = salt(25_000);
        assert_eq!(count(counted(&lot, 24_000, ""), &lot, false).expect_err("refused").field, "reason");
        assert!(count(counted(&lot, 24_000, "spilt"), &lot, false).is_ok());
        assert!(count(counted(&lot, 25_000, ""), &lot, false).is_ok());
        assert!(count(counted(&lot, 0, "sack is empty"), &lot, false).is_ok());
    }

    #[test]
    fn pieces_mixes_and_what_lies_on_the_block_are_not_counted() {
        for form in [Form::Piece, Form::Mix] {
            let lot = Lot { form, ..salt(100) };
            assert!(count(counted(&lot, 90, "x"), &lot, false).is_err());
        }
        let carcass = Lot { form: Form::Carcass, ..salt(90_000) };
        assert!(count(counted(&carcass, 89_000, "chilled"), &carcass, true).is_err());
        assert!(count(counted(&carcass, 89_000, "chilled"), &carcass, false).is_ok());
    }
}
