//! A lot as it stands now, and the rules that hold for every lot whatever is done with it.

use crate::error::Refusal;
use crate::ids::{ItemId, LotId, Named, PlaceId};
use crate::measure::{Grams, LotCode};

use super::effects::Form;
use super::entry::Seq;

/// What the book says of a lot at this moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    pub id: LotId,
    pub code: LotCode,
    pub form: Form,
    pub item: ItemId,
    pub item_name: String,
    pub place: Option<PlaceId>,
    /// On hand.
    pub grams: Grams,
    /// The entry that opened it.
    pub seq: Seq,
    /// Why it may not be used, while it may not.
    pub held: Option<String>,
    pub struck: bool,
}

impl Lot {
    /// The lot as an entry names it.
    pub fn named(&self) -> Named<LotId> {
        Named::new(self.id, self.code.to_string())
    }

    /// A held lot can be weighed, moved, checked and discarded; it cannot be used, mixed, packed or dispatched.
    pub fn usable(&self, field: &'static str) -> Result<(), Refusal> {
        self.in_the_book(field)?;
        match &self.held {
            Some(reason) => Err(Refusal::at(field, format!("{} is on hold: {reason}.", self.code))),
            None => Ok(()),
        }
    }

    /// A struck lot was never there.
    pub fn in_the_book(&self, field: &'static str) -> Result<(), Refusal> {
        if self.struck {
            return Err(Refusal::at(field, format!("{} was struck. It is not in the shop.", self.code)));
        }
        Ok(())
    }

    /// No more can leave a lot than it holds. `say` prints a weight.
    pub fn holds(
        &self,
        grams: Grams,
        field: &'static str,
        say: impl Fn(Grams) -> String,
    ) -> Result<(), Refusal> {
        if grams > self.grams {
            let message =
                format!("{} holds {}. {} cannot come out of it.", self.code, say(self.grams), say(grams));
            return Err(Refusal::at(field, message));
        }
        Ok(())
    }
}
