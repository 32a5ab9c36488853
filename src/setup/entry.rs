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
        line.why(if self.retired { "no longer used" } else { self.measures.word() })
    }
}

/// A place is not inside itself.
pub fn write_place(place: PlaceWritten) -> Result<PlaceWritten, Refusal> {
    if place.within == Some(place.place) {
        return Err(Refusal::at("within", "A place is not inside itself."));
    }
    Ok(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rail_does_not_hang_in_itself() {
        let id = PlaceId(uuid::Uuid::from_u128(1));
        let rail = PlaceWritten {
            place: id,
            name: "rail B".into(),
            kind: PlaceKind::Rail,
            within: Some(id),
            read_every: None,
            retired: false,
        };
        assert_eq!(write_place(rail).expect_err("refused").field, "within");
    }

    #[test]
    fn every_kind_of_place_reads_back_from_its_word() {
        assert!(PlaceKind::ALL.iter().all(|kind| kind.word().parse() == Ok(*kind)));
        assert!(Measures::ALL.iter().all(|kind| kind.word().parse() == Ok(*kind)));
    }
}
