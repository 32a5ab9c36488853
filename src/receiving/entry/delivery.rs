//! A docket at the door.

use serde::{Deserialize, Serialize};
use time::Date;

use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::{DeliveryId, Named, SupplierId};
use crate::measure::{Celsius, day_year};

/// A delivery is written up at most so many days after it came: beyond that it is a slip of the year.
const LATEST: i64 = 366;

/// A docket is opened at the door. `delivery.received`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeliveryReceived {
    pub delivery: DeliveryId,
    pub supplier: Named<SupplierId>,
    /// Its number; empty when it came without a docket.
    pub docket: String,
    /// Air in the vehicle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<Celsius>,
}

impl Entry for DeliveryReceived {
    const KIND: &'static str = "delivery.received";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().opens(self.delivery).about(self.supplier.id)
    }

    fn line(&self, say: &Say) -> Line {
        let docket =
            if self.docket.is_empty() { "no docket".to_owned() } else { format!("docket {}", self.docket) };
        let why = match self.vehicle {
            Some(vehicle) => format!("{docket}, vehicle at {}", say.temperature(vehicle)),
            None => docket,
        };
        Line::new(format!("Delivery from {}", self.supplier.name)).why(why)
    }
}

/// One docket is taken in once. `same` is the day of an earlier delivery with this number from this supplier, `again`
/// says that the person has looked and that this is another one; `day` is when it came, `today` when it is written up.
pub fn open(
    delivery: DeliveryReceived,
    same: Option<Date>,
    again: bool,
    day: Date,
    today: Date,
) -> Result<DeliveryReceived, Refusal> {
    if (today - day).whole_days() > LATEST {
        return Err(Refusal::at("when", "That is more than a year ago. Check the date."));
    }
    match same {
        Some(before) if !again => {
            let message = format!(
                "Docket {} from {} was taken in on {}. If this is another one with the same number, say so below.",
                delivery.docket,
                delivery.supplier.name,
                day_year(before)
            );
            Err(Refusal::at("docket", message))
        }
        _ => Ok(delivery),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use time::macros::date;
    use uuid::Uuid;

    fn docket() -> DeliveryReceived {
        DeliveryReceived {
            delivery: DeliveryId(Uuid::from_u128(1)),
            supplier: Named::new(SupplierId(Uuid::from_u128(2)), "Hazelrigg Farm"),
            docket: "D-118".into(),
            vehicle: None,
        }
    }

    const TODAY: Date = date!(2026 - 11 - 24);

    #[test]
    fn the_same_docket_number_is_taken_twice_only_when_somebody_has_looked() {
        assert!(open(docket(), None, false, TODAY, TODAY).is_ok());
        let refusal = open(docket(), Some(date!(2026 - 11 - 20)), false, TODAY, TODAY).expect_err("warned");
        assert_eq!(refusal.field, "docket");
        assert!(refusal.message.contains("20 Nov 2026"), "{}", refusal.message);
        assert!(open(docket(), Some(date!(2026 - 11 - 20)), true, TODAY, TODAY).is_ok());
    }

    #[test]
    fn a_docket_of_another_year_is_a_slip() {
        assert!(open(docket(), None, false, date!(2026 - 02 - 01), TODAY).is_ok());
        assert_eq!(
            open(docket(), None, false, date!(2025 - 11 - 20), TODAY).expect_err("slip").field,
            "when"
        );
    }
}
