//! A cure that was warmer than the shop's limit, by what was read where it stood.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::OffsetDateTime;

use crate::book::{Effects, Entry, Line, Say};
use crate::deviations::Opened;
use crate::ids::{BatchId, DeviationId, LotId, Named, PlaceId};
use crate::measure::Celsius;
use crate::standards::{cut_off, found_temperature};

/// What was too warm: the place, its limit, and the readings above it that no decision speaks of yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excursion {
    pub place: Named<PlaceId>,
    pub most: Celsius,
    pub warmest: Celsius,
    pub from: OffsetDateTime,
    pub until: OffsetDateTime,
    /// Above the limit in the whole stay.
    pub minutes: Decimal,
}

/// A batch in cure was above the limit of its place. `cold.exceeded`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ColdExceeded {
    pub batch: Named<BatchId>,
    pub place: Named<PlaceId>,
    pub most: Celsius,
    pub warmest: Celsius,
    #[serde(with = "time::serde::rfc3339")]
    pub from: OffsetDateTime,
    #[serde(with = "time::serde::rfc3339")]
    pub until: OffsetDateTime,
    pub minutes: Decimal,
    pub opened: Opened,
}

impl Entry for ColdExceeded {
    const KIND: &'static str = "cold.exceeded";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        self.opened.speak(Effects::none().about(self.batch.id).about(self.place.id))
    }

    fn line(&self, say: &Say) -> Line {
        let held = match self.opened.lots.len() {
            0 => "nothing on hold".to_owned(),
            1 => "1 lot on hold".to_owned(),
            n => format!("{n} lots on hold"),
        };
        Line::new(self.opened.what.clone()).why(held).figure(self.warmest.text(say.system)).alarm("deviation")
    }
}

/// The deviation of an excursion holds everything of the batch that is here.
pub fn exceeded(
    batch: Named<BatchId>,
    excursion: Excursion,
    lots: Vec<Named<LotId>>,
    deviation: DeviationId,
) -> ColdExceeded {
    let Excursion { place, most, warmest, from, until, minutes } = excursion;
    let what = format!(
        "Batch {} in cure in {}: above {} for {} min, up to {}",
        batch.name,
        place.name,
        found_temperature(most),
        cut_off(minutes, 1),
        found_temperature(warmest)
    );
    let opened = Opened { deviation, what, lots };
    ColdExceeded { batch, place, most, warmest, from, until, minutes, opened }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::datetime;
    use uuid::Uuid;

    use super::*;

    #[test]
    fn it_says_how_warm_and_how_long_and_holds_the_batch() {
        let excursion = Excursion {
            place: Named::new(PlaceId(Uuid::from_u128(1)), "curing fridge"),
            most: Celsius::whole(4),
            warmest: Celsius::hundredths(620),
            from: datetime!(2026-11-02 12:00 UTC),
            until: datetime!(2026-11-02 14:00 UTC),
            minutes: dec!(150),
        };
        let batch = Named::new(BatchId(Uuid::from_u128(2)), "26306-01");
        let lot = Named::new(LotId(Uuid::from_u128(3)), "26306-01.01");
        let entry = exceeded(batch, excursion, vec![lot.clone()], DeviationId(Uuid::from_u128(4)));
        let what = "Batch 26306-01 in cure in curing fridge: above 39.2 °F (4.0 °C) for 150 min, up to 43.2 °F (6.2 °C)";
        assert_eq!(entry.opened.what, what);
        assert_eq!(entry.effects().holds, [(lot.id, what.to_owned())]);
        let body = serde_json::to_string(&entry).expect("a body");
        assert_eq!(serde_json::from_str::<ColdExceeded>(&body).expect("reads back"), entry);
    }
}
