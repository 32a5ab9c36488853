//! What the book says of the shop's things, places and instruments. A change is the same kind of entry again: the
//! latest word counts.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Form, Line, Say};
use crate::error::Refusal;
use crate::ids::{InstrumentId, ItemId, PlaceId};
use crate::measure::PricePerKg;

/// A thing in the shop's list, new or changed. `item.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ItemWritten {
    pub item: ItemId,
    pub name: String,
    pub form: Form,
    /// Where it is meat; empty otherwise.
    #[serde(default)]
    pub species: String,
    /// What a label calls it, where that is another name.
    #[serde(default)]
    pub label_name: String,
    /// Its number in a published specification of cuts, as `IMPS 403`; empty where it has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub number: String,
    /// Words of [`crate::standards::allergens`].
    #[serde(default)]
    pub allergens: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sales_price: Option<PricePerKg>,
    /// Bone, skin and fat whose worth may be taken off a carcass's cost first.
    #[serde(default)]
    pub by_product: bool,
    #[serde(default)]
    pub retired: bool,
}

impl Entry for ItemWritten {
    const KIND: &'static str = "item.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.item)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("{} in the list", self.name));
        line.why(if self.retired { "no longer used" } else { self.form.word() })
    }
}

/// What a place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[sqlx(type_name = "text")]
pub enum PlaceKind {
    #[serde(rename = "block")]
    #[sqlx(rename = "block")]
    Block,
    #[serde(rename = "cooler")]
    #[sqlx(rename = "cooler")]
    Cooler,
    #[serde(rename = "freezer")]
    #[sqlx(rename = "freezer")]
    Freezer,
    #[serde(rename = "curing fridge")]
    #[sqlx(rename = "curing fridge")]
    CuringFridge,
    #[serde(rename = "chamber")]
    #[sqlx(rename = "chamber")]
    Chamber,
    #[serde(rename = "rail")]
    #[sqlx(rename = "rail")]
    Rail,
    #[serde(rename = "store")]
    #[sqlx(rename = "store")]
    Store,
    #[serde(rename = "counter")]
    #[sqlx(rename = "counter")]
    Counter,
}

impl PlaceKind {
    pub const ALL: [Self; 8] = [
        Self::Block,
        Self::Cooler,
        Self::Freezer,
        Self::CuringFridge,
        Self::Chamber,
        Self::Rail,
        Self::Store,
        Self::Counter,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::Block => "block",
            Self::Cooler => "cooler",
            Self::Freezer => "freezer",
            Self::CuringFridge => "curing fridge",
            Self::Chamber => "chamber",
            Self::Rail => "rail",
            Self::Store => "store",
            Self::Counter => "counter",
        }
    }
}

impl std::str::FromStr for PlaceKind {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|kind| kind.word() == text).ok_or(())
    }
}

/// A place, new or changed. `place.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlaceWritten {
    pub place: PlaceId,
    pub name: String,
    pub kind: PlaceKind,
    /// The place that it is in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub within: Option<PlaceId>,
    /// Hours between readings of it by hand; none where nobody reads it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_every: Option<u16>,
    /// What one should know of it: who has the key, where the probe hangs.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    #[serde(default)]
    pub retired: bool,
}

impl Entry for PlaceWritten {
    const KIND: &'static str = "place.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.place)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("{} in the list of places", self.name));
        line.why(if self.retired { "no longer used" } else { self.kind.word() })
    }
}

/// What an instrument measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[sqlx(type_name = "text")]
pub enum Measures {
    #[serde(rename = "weight")]
    #[sqlx(rename = "weight")]
    Weight,
    #[serde(rename = "temperature")]
    #[sqlx(rename = "temperature")]
    Temperature,
    #[serde(rename = "humidity")]
    #[sqlx(rename = "humidity")]
    Humidity,
    #[serde(rename = "ph")]
    #[sqlx(rename = "ph")]
    Ph,
    #[serde(rename = "water activity")]
    #[sqlx(rename = "water activity")]
    WaterActivity,
    #[serde(rename = "other")]
    #[sqlx(rename = "other")]
    Other,
}

impl Measures {
    pub const ALL: [Self; 6] =
        [Self::Weight, Self::Temperature, Self::Humidity, Self::Ph, Self::WaterActivity, Self::Other];

    pub fn word(self) -> &'static str {
        match self {
            Self::Weight => "weight",
            Self::Temperature => "temperature",
            Self::Humidity => "humidity",
            Self::Ph => "ph",
            Self::WaterActivity => "water activity",
            Self::Other => "other",
        }
    }

    /// As a page writes it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Ph => "pH",
            other => other.word(),
        }
    }
}

impl std::str::FromStr for Measures {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|kind| kind.word() == text).ok_or(())
    }
}

/// What figures are measured with, new or changed. `instrument.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InstrumentWritten {
    pub instrument: InstrumentId,
    pub name: String,
    pub measures: Measures,
    /// Days from one calibration to the next; none where the shop gives none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibrate_every: Option<u16>,
    #[serde(default)]
    pub retired: bool,
}

impl Entry for InstrumentWritten {
    const KIND: &'static str = "instrument.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.instrument)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("{} in the list of instruments", self.name));
        line.why(if self.retired { "no longer used" } else { self.measures.label() })
    }
}

/// What the rules need to know of a thing that is in the list already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ItemStands {
    pub form: Form,
    /// Whether a lot of it is in the book.
    pub has_lots: bool,
}

/// A thing keeps its form once there are lots of it, and meat as it comes off an animal names the animal.
pub fn write_item(item: ItemWritten, stands: Option<ItemStands>) -> Result<ItemWritten, Refusal> {
    if stands.is_some_and(|stands| stands.has_lots && stands.form != item.form) {
        return Err(Refusal::at(
            "form",
            "Lots of it are in the book, so its form stays. Add another thing instead.",
        ));
    }
    let made = matches!(item.form, Form::Mix | Form::Piece | Form::Pack);
    if item.form.is_meat() && !made && item.species.is_empty() {
        return Err(Refusal::at("species", "Say what animal it is of."));
    }
    Ok(item)
}

/// What the rules need to know of the places around one that is written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlaceStands {
    /// The place that it is put in, and those that that one is in, up to the outermost.
    pub around: Vec<PlaceId>,
    /// How many lots lie in it.
    pub lots: i64,
    /// How many places that are in use are within it.
    pub inside: i64,
}

/// A place is not inside itself, by however many doors; and one is given up only when it is empty.
pub fn write_place(place: PlaceWritten, stands: &PlaceStands) -> Result<PlaceWritten, Refusal> {
    if place.within == Some(place.place) || stands.around.contains(&place.place) {
        return Err(Refusal::at("within", "A place is not inside itself."));
    }
    if place.retired && stands.lots > 0 {
        let say = format!(
            "{} holds {} still. Move what lies there first.",
            place.name,
            counted(stands.lots, "lot")
        );
        return Err(Refusal::at("retired", say));
    }
    if place.retired && stands.inside > 0 {
        let say = format!("{} is in use inside {}.", counted(stands.inside, "place"), place.name);
        return Err(Refusal::at("retired", say));
    }
    Ok(place)
}

fn counted(n: i64, word: &str) -> String {
    if n == 1 { format!("one {word}") } else { format!("{n} {word}s") }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    fn rail(within: Option<PlaceId>, retired: bool) -> PlaceWritten {
        PlaceWritten {
            place: PlaceId(Uuid::from_u128(1)),
            name: "rail B".into(),
            kind: PlaceKind::Rail,
            within,
            read_every: None,
            note: String::new(),
            retired,
        }
    }

    fn salt() -> ItemWritten {
        ItemWritten {
            item: ItemId(Uuid::from_u128(1)),
            name: "sea salt".into(),
            form: Form::Ingredient,
            species: String::new(),
            label_name: String::new(),
            number: String::new(),
            allergens: vec![],
            sales_price: None,
            by_product: false,
            retired: false,
        }
    }

    #[test]
    fn a_rail_does_not_hang_in_itself() {
        let itself = rail(Some(PlaceId(Uuid::from_u128(1))), false);
        assert_eq!(write_place(itself, &PlaceStands::default()).expect_err("refused").field, "within");
    }

    #[test]
    fn a_chamber_does_not_stand_in_a_rail_that_hangs_in_it() {
        let chamber = PlaceId(Uuid::from_u128(2));
        let stands =
            PlaceStands { around: vec![chamber, PlaceId(Uuid::from_u128(1))], ..PlaceStands::default() };
        assert_eq!(write_place(rail(Some(chamber), false), &stands).expect_err("refused").field, "within");
    }

    #[test]
    fn a_place_is_given_up_only_when_nothing_is_left_in_it() {
        let full = PlaceStands { lots: 3, ..PlaceStands::default() };
        let refusal = write_place(rail(None, true), &full).expect_err("refused");
        assert_eq!(refusal.message, "rail B holds 3 lots still. Move what lies there first.");
        let around = PlaceStands { inside: 1, ..PlaceStands::default() };
        assert!(write_place(rail(None, true), &around).is_err());
        assert!(write_place(rail(None, false), &full).is_ok());
        assert!(write_place(rail(None, true), &PlaceStands::default()).is_ok());
    }

    #[test]
    fn a_thing_keeps_its_form_once_there_are_lots_of_it() {
        let stands = |has_lots| Some(ItemStands { form: Form::Casing, has_lots });
        assert_eq!(write_item(salt(), stands(true)).expect_err("refused").field, "form");
        assert!(write_item(salt(), stands(false)).is_ok());
        assert!(write_item(salt(), None).is_ok());
    }

    #[test]
    fn meat_is_of_an_animal() {
        let collar = ItemWritten { form: Form::Cut, ..salt() };
        assert_eq!(write_item(collar.clone(), None).expect_err("refused").field, "species");
        assert!(write_item(ItemWritten { species: "pig".into(), ..collar }, None).is_ok());
    }

    #[test]
    fn every_kind_of_place_reads_back_from_its_word() {
        assert!(PlaceKind::ALL.iter().all(|kind| kind.word().parse() == Ok(*kind)));
        assert!(Measures::ALL.iter().all(|kind| kind.word().parse() == Ok(*kind)));
    }

    #[test]
    fn a_body_from_before_there_were_numbers_and_notes_still_reads() {
        let place = r#"{"kind":"cooler","name":"cooler 1","place":"00000000-0000-0000-0000-0000000000c9"}"#;
        assert!(serde_json::from_str::<PlaceWritten>(place).is_ok_and(|place| place.note.is_empty()));
        let item = r#"{"form":"cut","item":"00000000-0000-0000-0000-0000000000cb","name":"pork collar"}"#;
        assert!(serde_json::from_str::<ItemWritten>(item).is_ok_and(|item| item.number.is_empty()));
    }
}
