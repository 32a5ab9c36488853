//! What a reading, a check or a deviation is about: a place, a lot or a batch.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::ids::{BatchId, InstrumentId, LotId, Named, PlaceId};

/// What it is about, and what it was called then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Subject {
    Place(Named<PlaceId>),
    Lot(Named<LotId>),
    Batch(Named<BatchId>),
}

impl Subject {
    pub fn name(&self) -> &str {
        match self {
            Self::Place(place) => &place.name,
            Self::Lot(lot) => &lot.name,
            Self::Batch(batch) => &batch.name,
        }
    }

    pub fn on(&self) -> On {
        match self {
            Self::Place(place) => On::Place(place.id),
            Self::Lot(lot) => On::Lot(lot.id),
            Self::Batch(batch) => On::Batch(batch.id),
        }
    }
}

/// What it is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum On {
    Place(PlaceId),
    Lot(LotId),
    Batch(BatchId),
}

impl On {
    pub fn id(self) -> Uuid {
        match self {
            Self::Place(place) => place.0,
            Self::Lot(lot) => lot.0,
            Self::Batch(batch) => batch.0,
        }
    }

    pub fn place(self) -> Option<Uuid> {
        if let Self::Place(place) = self { Some(place.0) } else { None }
    }

    pub fn lot(self) -> Option<Uuid> {
        if let Self::Lot(lot) = self { Some(lot.0) } else { None }
    }

    pub fn batch(self) -> Option<Uuid> {
        if let Self::Batch(batch) = self { Some(batch.0) } else { None }
    }

    /// The address of its own page.
    pub fn path(self) -> String {
        match self {
            Self::Place(place) => place.path(),
            Self::Lot(lot) => lot.path(),
            Self::Batch(batch) => batch.path(),
        }
    }

    /// The address of the page on which its next reading is recorded.
    pub fn record_path(self) -> String {
        let word = match self {
            Self::Place(_) => "place",
            Self::Lot(_) => "lot",
            Self::Batch(_) => "batch",
        };
        format!("/checks/record?{word}={}", self.id())
    }
}

/// What a deviation was found on: what a reading may be about, or an instrument, with all that was read with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FoundOn {
    Thing(On),
    Instrument(InstrumentId),
}

impl From<On> for FoundOn {
    fn from(on: On) -> Self {
        Self::Thing(on)
    }
}

impl FoundOn {
    pub fn thing(self) -> Option<On> {
        if let Self::Thing(on) = self { Some(on) } else { None }
    }

    pub fn instrument(self) -> Option<Uuid> {
        if let Self::Instrument(instrument) = self { Some(instrument.0) } else { None }
    }
}
