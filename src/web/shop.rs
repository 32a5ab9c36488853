//! The shop, as every page needs it: its name, its units, its day.

use time::{Date, OffsetDateTime};

use crate::book::Say;
use crate::measure::{Currency, Grams, Money, ShopZone, TemperatureUnit, UnitSystem, WeightUnit};

/// What the shop said of itself, the latest word counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shop {
    pub name: String,
    pub address: String,
    /// Establishment or approval number, as the regulator writes it; may be empty.
    pub number: String,
    pub system: UnitSystem,
    pub zone: ShopZone,
    pub currency: Currency,
    /// What the small scale shows, for cures and spices.
    pub small_division: Grams,
    /// What the large scale shows, for meat.
    pub large_division: Grams,
}

impl Shop {
    /// How lines of the book say their figures here.
    pub fn say(&self) -> Say {
        Say { system: self.system }
    }

    /// The unit of a bare number on the large scale.
    pub fn weight_unit(&self) -> WeightUnit {
        match self.system {
            UnitSystem::Metric => WeightUnit::Kilogram,
            UnitSystem::Us => WeightUnit::Pound,
        }
    }

    /// The unit of a bare number on the small scale.
    pub fn small_unit(&self) -> WeightUnit {
        WeightUnit::Gram
    }

    pub fn temperature_unit(&self) -> TemperatureUnit {
        match self.system {
            UnitSystem::Metric => TemperatureUnit::Celsius,
            UnitSystem::Us => TemperatureUnit::Fahrenheit,
        }
    }

    pub fn weight(&self, grams: Grams) -> String {
        grams.in_system(self.system)
    }

    pub fn money(&self, money: Money) -> String {
        money.text(&self.currency)
    }

    /// The shop's day at a moment: the one place where its day is not the server's.
    pub fn date(&self, at: OffsetDateTime) -> Date {
        self.zone.date(at)
    }
}
