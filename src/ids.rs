//! The ids of everything that has one. They stand below the areas, or two areas that name each other make a circle.
//!
//! An id is never drawn where a rule runs: what an entry makes takes the entry's own id, or one derived from it.
//! A form that is sent twice therefore makes the same thing twice, which is once.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident at $path:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
        #[serde(transparent)]
        #[sqlx(transparent)]
        pub struct $name(pub Uuid);

        impl $name {
            /// The one thing that the entry with this id makes.
            pub fn made_by(entry: Uuid) -> Self {
                Self(entry)
            }

            /// The `n`th thing of this sort that the entry with this id makes.
            pub fn nth(entry: Uuid, n: usize) -> Self {
                Self(derived(entry, stringify!($name), n))
            }

            /// The address of its page.
            pub fn path(&self) -> String {
                format!(concat!($path, "/{}"), self.0)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(text.trim()).map(Self)
            }
        }

        impl From<$name> for Uuid {
            fn from(id: $name) -> Self {
                id.0
            }
        }
    )*};
}

ids! {
    /// A person who can sign.
    PersonId at "/setup/people";
    /// A kind of thing in the shop's list: pork collar, sea salt.
    ItemId at "/setup/items";
    /// Where something lies or hangs.
    PlaceId at "/hanging/places";
    /// What a figure was measured with.
    InstrumentId at "/setup/instruments";
    /// Who brings it.
    SupplierId at "/receiving/suppliers";
    /// What came through the door on one docket.
    DeliveryId at "/receiving/deliveries";
    /// Anything with an identity and a weight.
    LotId at "/lots";
    /// One breaking-down of one lot.
    BreakdownId at "/block/breakdowns";
    /// The cuts that are expected of a source.
    CutListId at "/block/cut-lists";
    /// A formula by proportion.
    RecipeId at "/recipes";
    /// One making of a recipe version.
    BatchId at "/batches";
    /// Who receives it.
    CustomerId at "/dispatch/customers";
    /// What left on one docket.
    DispatchId at "/dispatch/dockets";
    /// A size of label or tag that the shop prints on.
    LabelSizeId at "/setup/labels";
    /// A limit that readings are held against.
    LimitId at "/checks/limits";
    /// A limit of the shop's own on what goes into cured meat.
    CuringLimitId at "/limits/own";
    /// A reading held against a limit.
    CheckId at "/checks/records";
    /// A check out of limits and what was done about it.
    DeviationId at "/checks/deviations";
    /// A data logger that sends its samples itself.
    LoggerId at "/loggers/devices";
    /// One import of a logger's samples.
    ImportId at "/loggers/imports";
    /// Products that are released by the same criteria.
    FamilyId at "/release/families";
    /// A batch's records looked over before anything of it is sold.
    ReviewId at "/release/reviews";
    /// A paper attached to something.
    PaperId at "/attachments";
}

/// An id that the entry with id `entry` always gives to the `n`th thing of one sort (UUID version 5, RFC 9562).
pub fn derived(entry: Uuid, sort: &str, n: usize) -> Uuid {
    Uuid::new_v5(&entry, format!("{sort} {n}").as_bytes())
}

/// A thing and what it was called when the entry was signed. The name is for reading; the id decides.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Named<Id> {
    pub id: Id,
    pub name: String,
}

impl<Id> Named<Id> {
    pub fn new(id: Id, name: impl Into<String>) -> Self {
        Self { id, name: name.into() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_an_entry_makes_has_the_same_id_however_often_the_form_is_sent() {
        let entry = Uuid::from_u128(7);
        assert_eq!(LotId::nth(entry, 3), LotId::nth(entry, 3));
        assert_ne!(LotId::nth(entry, 3), LotId::nth(entry, 4));
        assert_ne!(LotId::nth(entry, 3).0, ItemId::nth(entry, 3).0);
    }

    #[test]
    fn an_id_is_read_from_an_address_with_spaces_around_it() {
        let id = LotId(Uuid::from_u128(42));
        assert_eq!(format!(" {id} ").parse::<LotId>().ok(), Some(id));
        assert!("26329-02".parse::<LotId>().is_err());
    }
}
