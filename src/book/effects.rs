//! What an entry does beyond being written: lots it opens, grams it moves, where it puts things, what it holds.
//!
//! Effects follow from the body of the entry alone, so that a replay finds the same ones.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::entry::Seq;
use crate::ids::{ItemId, LotId, Named, PersonId, PlaceId};
use crate::measure::{Grams, LotCode};

/// Where weight goes when it leaves the lots, or comes from when it enters them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[sqlx(type_name = "text")]
pub enum Account {
    #[sqlx(rename = "supplier")]
    #[serde(rename = "supplier")]
    Supplier,
    #[sqlx(rename = "customer")]
    #[serde(rename = "customer")]
    Customer,
    #[sqlx(rename = "cutting loss")]
    #[serde(rename = "cutting loss")]
    CuttingLoss,
    #[sqlx(rename = "purge")]
    #[serde(rename = "purge")]
    Purge,
    #[sqlx(rename = "drying")]
    #[serde(rename = "drying")]
    Drying,
    #[sqlx(rename = "waste")]
    #[serde(rename = "waste")]
    Waste,
    #[sqlx(rename = "sample")]
    #[serde(rename = "sample")]
    Sample,
    /// A count or a scale says that there is more.
    #[sqlx(rename = "found")]
    #[serde(rename = "found")]
    Found,
    /// A count or a scale says that there is less.
    #[sqlx(rename = "missing")]
    #[serde(rename = "missing")]
    Missing,
    /// Mains water into brine.
    #[sqlx(rename = "water")]
    #[serde(rename = "water")]
    Water,
}

impl Account {
    /// The word for it on a page and in the book.
    pub fn word(self) -> &'static str {
        match self {
            Self::Supplier => "supplier",
            Self::Customer => "customer",
            Self::CuttingLoss => "cutting loss",
            Self::Purge => "purge",
            Self::Drying => "drying",
            Self::Waste => "waste",
            Self::Sample => "sample",
            Self::Found => "found",
            Self::Missing => "missing",
            Self::Water => "water",
        }
    }
}

/// What a lot is, as far as its shape goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "snake_case")]
#[sqlx(type_name = "text", rename_all = "snake_case")]
pub enum Form {
    Carcass,
    Side,
    Primal,
    Cut,
    Trim,
    Bone,
    Fat,
    Offal,
    Ingredient,
    Casing,
    Mix,
    Piece,
    Pack,
}

impl Form {
    pub const ALL: [Self; 13] = [
        Self::Carcass,
        Self::Side,
        Self::Primal,
        Self::Cut,
        Self::Trim,
        Self::Bone,
        Self::Fat,
        Self::Offal,
        Self::Ingredient,
        Self::Casing,
        Self::Mix,
        Self::Piece,
        Self::Pack,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::Carcass => "carcass",
            Self::Side => "side",
            Self::Primal => "primal",
            Self::Cut => "cut",
            Self::Trim => "trim",
            Self::Bone => "bone",
            Self::Fat => "fat",
            Self::Offal => "offal",
            Self::Ingredient => "ingredient",
            Self::Casing => "casing",
            Self::Mix => "mix",
            Self::Piece => "piece",
            Self::Pack => "pack",
        }
    }

    /// Whether it came off an animal.
    pub fn is_meat(self) -> bool {
        !matches!(self, Self::Ingredient | Self::Casing)
    }
}

impl std::str::FromStr for Form {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|form| form.word() == text).ok_or(())
    }
}

/// One side of a movement: a lot, or an account outside the lots and whose it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    Lot(LotId),
    Account(Account, Option<Uuid>),
}

/// A signed weight: positive where it arrives, negative where it leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Movement {
    pub side: Side,
    pub grams: Grams,
}

/// A lot that an entry opens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLot {
    pub id: LotId,
    pub code: LotCode,
    pub form: Form,
    pub item: Named<ItemId>,
    pub place: Option<PlaceId>,
}

/// How an entry speaks of something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, sqlx::Type)]
#[sqlx(type_name = "text", rename_all = "lowercase")]
pub enum Role {
    /// It rests on it or mentions it.
    Names,
    /// It moves weight on or off it.
    Moves,
    /// It states what the balance is (a weigh-in, a closing): earlier movements may no longer be taken back.
    Settles,
    /// Without this entry it would not exist.
    Opens,
}

impl Role {
    pub fn word(self) -> &'static str {
        match self {
            Self::Names => "names",
            Self::Moves => "moves",
            Self::Settles => "settles",
            Self::Opens => "opens",
        }
    }
}

/// Everything that an entry does to the book's own tables.
#[derive(Debug, Clone, Default)]
pub struct Effects {
    pub opens: Vec<NewLot>,
    pub movements: Vec<Movement>,
    pub puts: Vec<(LotId, PlaceId)>,
    pub holds: Vec<(LotId, String)>,
    /// The lot, and the entry whose hold of it is lifted; without one, all of them.
    pub lifts: Vec<(LotId, Option<Seq>)>,
    pub about: Vec<(Uuid, Role)>,
    pub signer: Option<(PersonId, String, String)>,
}

impl Effects {
    pub fn none() -> Self {
        Self::default()
    }

    /// Opens a lot. It holds nothing until grams arrive in it.
    #[must_use]
    pub fn open(mut self, lot: NewLot) -> Self {
        self.speak(lot.id.0, Role::Opens);
        self.opens.push(lot);
        self
    }

    /// Takes weight off a lot.
    #[must_use]
    pub fn take(self, lot: LotId, grams: Grams) -> Self {
        self.shift(Side::Lot(lot), -grams)
    }

    /// Lays weight on a lot.
    #[must_use]
    pub fn give(self, lot: LotId, grams: Grams) -> Self {
        self.shift(Side::Lot(lot), grams)
    }

    /// Weight arrives in an account. A negative weight comes out of it.
    #[must_use]
    pub fn account(self, account: Account, party: Option<Uuid>, grams: Grams) -> Self {
        self.shift(Side::Account(account, party), grams)
    }

    /// Moves weight, in one movement for each side: what an entry takes and gives back cancels out.
    #[must_use]
    pub fn shift(mut self, side: Side, grams: Grams) -> Self {
        if let Side::Lot(lot) = side {
            self.speak(lot.0, Role::Moves);
        }
        match self.movements.iter_mut().find(|m| m.side == side) {
            Some(movement) => movement.grams += grams,
            None => self.movements.push(Movement { side, grams }),
        }
        self.movements.retain(|m| !m.grams.is_zero());
        self
    }

    /// Puts a lot in a place.
    #[must_use]
    pub fn put(mut self, lot: LotId, place: PlaceId) -> Self {
        self.speak(lot.0, Role::Names);
        self.speak(place.0, Role::Names);
        self.puts.push((lot, place));
        self
    }

    /// Holds a lot until an entry lifts it.
    #[must_use]
    pub fn hold(mut self, lot: LotId, reason: impl Into<String>) -> Self {
        self.speak(lot.0, Role::Names);
        self.holds.push((lot, reason.into()));
        self
    }

    /// Lifts every open hold of a lot.
    #[must_use]
    pub fn lift(mut self, lot: LotId) -> Self {
        self.speak(lot.0, Role::Names);
        self.lifts.push((lot, None));
        self
    }

    /// Lifts the hold that one entry laid on a lot. What else holds it stays.
    #[must_use]
    pub fn lift_of(mut self, lot: LotId, by: Seq) -> Self {
        self.speak(lot.0, Role::Names);
        self.lifts.push((lot, Some(by)));
        self
    }

    /// Says that the entry makes this thing, which is not a lot.
    #[must_use]
    pub fn opens(mut self, subject: impl Into<Uuid>) -> Self {
        self.speak(subject.into(), Role::Opens);
        self
    }

    /// Says that the entry states this lot's balance.
    #[must_use]
    pub fn settles(mut self, lot: LotId) -> Self {
        self.speak(lot.0, Role::Settles);
        self
    }

    /// Says that the entry speaks of this.
    #[must_use]
    pub fn about(mut self, subject: impl Into<Uuid>) -> Self {
        self.speak(subject.into(), Role::Names);
        self
    }

    /// Says that this person signs with these initials from here on.
    #[must_use]
    pub fn signs(mut self, person: PersonId, name: impl Into<String>, initials: impl Into<String>) -> Self {
        self.signer = Some((person, name.into(), initials.into()));
        self
    }

    /// What is left over when all movements are added up. The book takes no entry where this is not zero.
    pub fn imbalance(&self) -> Grams {
        self.movements.iter().map(|m| m.grams).sum()
    }

    fn speak(&mut self, subject: Uuid, role: Role) {
        match self.about.iter_mut().find(|(known, _)| *known == subject) {
            Some((_, known)) => *known = (*known).max(role),
            None => self.about.push((subject, role)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lot(n: u128) -> LotId {
        LotId(Uuid::from_u128(n))
    }

    #[test]
    fn what_leaves_the_carcass_arrives_in_the_cut() {
        let effects = Effects::none().take(lot(1), Grams::whole(3180)).give(lot(2), Grams::whole(3180));
        assert_eq!(effects.imbalance(), Grams::ZERO);
        assert_eq!(effects.movements.len(), 2);
    }

    #[test]
    fn weight_taken_and_given_back_to_one_lot_is_no_movement() {
        let effects = Effects::none().take(lot(1), Grams::whole(5)).give(lot(1), Grams::whole(5));
        assert!(effects.movements.is_empty());
    }

    #[test]
    fn lifting_one_hold_names_the_entry_that_laid_it() {
        let effects = Effects::none().lift_of(lot(1), Seq(7)).lift(lot(2));
        assert_eq!(effects.lifts, [(lot(1), Some(Seq(7))), (lot(2), None)]);
    }

    #[test]
    fn of_two_ways_of_speaking_of_a_lot_the_stronger_stays() {
        let effects = Effects::none().about(lot(1)).settles(lot(1)).take(lot(1), Grams::whole(1));
        assert_eq!(effects.about, vec![(lot(1).0, Role::Settles)]);
    }
}
