//! Packing: a released piece, or raw meat, becomes packs with tags of their own.

use serde::{Deserialize, Serialize};
use time::Date;

use super::Leaving;
use super::lines::{self, Part};
use crate::book::{Account, Effects, Entry, Form, Line, NewLot, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{ItemId, LotId, Named, PlaceId};
use crate::measure::{Grams, LotCode};

/// The most packs of one signing.
pub const MOST_PACKS: usize = 200;
/// A date on a pack further away than this is a slip of the hand.
const LONGEST_LIFE: time::Duration = time::Duration::days(5 * 366);

/// The word that stands before the date on a pack. Regulation (EU) No 1169/2011, art. 24 and annex X: "use by" where the
/// food spoils soon, otherwise "best before".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum DateWord {
    #[serde(rename = "best before")]
    BestBefore,
    #[serde(rename = "use by")]
    UseBy,
}

impl DateWord {
    pub const ALL: [Self; 2] = [Self::BestBefore, Self::UseBy];

    pub fn word(self) -> &'static str {
        match self {
            Self::BestBefore => "best before",
            Self::UseBy => "use by",
        }
    }
}

impl std::str::FromStr for DateWord {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|word| word.word() == text).ok_or(())
    }
}

/// One pack: its tag and its net weight.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pack {
    pub lot: LotId,
    pub code: LotCode,
    pub weight: Grams,
}

/// A lot is packed. `lot.packed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotPacked {
    pub source: Named<LotId>,
    pub item: Named<ItemId>,
    pub packs: Vec<Pack>,
    /// Ends, rind and what was trimmed away: to waste.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub loss: Option<Grams>,
    pub place: Named<PlaceId>,
    #[serde(default, with = "crate::measure::maybe_date", skip_serializing_if = "Option::is_none")]
    pub use_by: Option<Date>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date_word: Option<DateWord>,
    /// What the label says of keeping it: "Keep refrigerated at or below 4 °C".
    #[serde(default)]
    pub keep: String,
    /// Where the animal was reared and slaughtered, as the label says it: Regulation (EU) No 1337/2013.
    #[serde(default)]
    pub origin: String,
    /// Whether the label carries the safe handling instructions of 9 CFR 317.2(l).
    #[serde(default)]
    pub handling: bool,
}

impl LotPacked {
    /// What went into packs.
    pub fn packed(&self) -> Grams {
        self.packs.iter().map(|pack| pack.weight).sum()
    }

    /// What left the source: packs and loss.
    pub fn taken(&self) -> Grams {
        self.packed() + self.loss.unwrap_or(Grams::ZERO)
    }
}

impl Entry for LotPacked {
    const KIND: &'static str = "lot.packed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().take(self.source.id, self.taken());
        let effects = match self.loss {
            Some(loss) => effects.account(Account::Waste, None, loss),
            None => effects,
        };
        self.packs.iter().fold(effects, |effects, pack| {
            let lot = NewLot {
                id: pack.lot,
                code: pack.code,
                form: Form::Pack,
                item: self.item.clone(),
                place: Some(self.place.id),
            };
            effects.open(lot).give(pack.lot, pack.weight)
        })
    }

    fn line(&self, say: &Say) -> Line {
        let packs = match self.packs.as_slice() {
            [one] => format!("pack {}", one.code),
            [first, .., last] => format!("{} packs, {} to {}", self.packs.len(), first.code, last.code),
            [] => "nothing".into(),
        };
        let loss = self
            .loss
            .map_or_else(String::new, |loss| format!(", {} trimmed away to waste", say.weight(loss)));
        Line::new(format!("{} {} packed", self.item.name, self.source.name))
            .why(format!("{packs}, in {}{loss}", self.place.name))
            .figure(say.weight(self.packed()))
    }
}

/// What is not on hold and for sale is packed, never more of it than there is; a date on it lies ahead.
pub fn pack(packed: LotPacked, from: &Leaving, today: Date, say: &Say) -> Result<LotPacked, Errors> {
    from.lot.usable("lot")?;
    if from.lot.form == Form::Pack {
        return Err(Refusal::at("lot", format!("{} is a pack already.", from.lot.code)).into());
    }
    from.for_sale("lot")?;
    let first = lines::field(Part::Weight, 0);
    if packed.packs.is_empty() {
        return Err(Refusal::at(first, "Weigh at least one pack.").into());
    }
    if packed.packs.len() > MOST_PACKS {
        let message = format!("At most {MOST_PACKS} packs are signed at once. Sign the rest after these.");
        return Err(Refusal::at(lines::field(Part::Count, 0), message).into());
    }
    from.lot.holds(packed.taken(), first, |grams| say.weight(grams))?;
    if packed.use_by.is_some() != packed.date_word.is_some() {
        return Err(Refusal::at("use_by", "A date needs its word, and the word a date.").into());
    }
    match packed.use_by {
        Some(day) if day < today => {
            Err(Refusal::at("use_by", "This day is past. Give a day that lies ahead.").into())
        }
        Some(day) if day - today > LONGEST_LIFE => {
            Err(Refusal::at("use_by", "This day is more than five years away.").into())
        }
        _ => Ok(packed),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::leaving;
    use super::*;
    use crate::measure::UnitSystem;
    use time::macros::date;
    use uuid::Uuid;

    const SAY: Say = Say { system: UnitSystem::Metric };
    const TODAY: Date = date!(2026 - 12 - 20);

    fn two_packs(each: i64) -> LotPacked {
        let pack = |n: u128| Pack {
            lot: LotId(Uuid::from_u128(40 + n)),
            code: format!("26335-01.{n}").parse().expect("a code"),
            weight: Grams::whole(each),
        };
        LotPacked {
            source: Named::new(LotId(Uuid::from_u128(3)), "26335-01.03"),
            item: Named::new(ItemId(Uuid::from_u128(900)), "cured loin"),
            packs: vec![pack(11), pack(12)],
            loss: Some(Grams::whole(20)),
            place: Named::new(PlaceId(Uuid::from_u128(5)), "counter"),
            use_by: Some(date!(2027 - 02 - 01)),
            date_word: Some(DateWord::BestBefore),
            keep: String::new(),
            origin: String::new(),
            handling: false,
        }
    }

    #[test]
    fn packs_and_trimmings_weigh_what_left_the_piece() {
        let effects = two_packs(700).effects();
        assert!(effects.imbalance().is_zero());
        assert_eq!(effects.opens.len(), 2);
    }

    #[test]
    fn packs_and_trimmings_are_never_more_than_the_piece() {
        let piece = leaving(3, Form::Piece, 1_420);
        assert!(pack(two_packs(700), &piece, TODAY, &SAY).is_ok());
        assert!(pack(two_packs(701), &piece, TODAY, &SAY).expect_err("refused").of("weight-1").is_some());
    }

    #[test]
    fn a_held_piece_an_unreleased_one_a_mix_and_a_pack_are_not_packed() {
        let piece = leaving(3, Form::Piece, 1_420);
        let mut held = piece.clone();
        held.lot.held = Some("pH of 5.6".into());
        let unreleased = Leaving { for_sale: false, ..piece };
        let mix = Leaving { for_sale: false, ..leaving(3, Form::Mix, 1_420) };
        for from in [held, unreleased, mix, leaving(3, Form::Pack, 1_420)] {
            assert!(pack(two_packs(1), &from, TODAY, &SAY).expect_err("refused").of("lot").is_some());
        }
    }

    #[test]
    fn a_date_on_a_pack_lies_ahead_and_not_in_another_age() {
        let piece = leaving(3, Form::Piece, 1_420);
        let on = |day: Date| LotPacked { use_by: Some(day), ..two_packs(500) };
        assert!(pack(on(date!(2026 - 12 - 19)), &piece, TODAY, &SAY).is_err());
        assert!(pack(on(date!(2226 - 12 - 20)), &piece, TODAY, &SAY).is_err());
        assert!(pack(on(TODAY), &piece, TODAY, &SAY).is_ok());
    }
}
