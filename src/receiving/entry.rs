//! What the book says of suppliers and of what they bring.

use serde::{Deserialize, Serialize};
use time::Date;

use crate::book::{Account, Effects, Entry, Form, Line, NewLot, Say};
use crate::ids::{DeliveryId, ItemId, LotId, Named, PlaceId, SupplierId};
use crate::measure::{Celsius, Grams, LotCode, Percent, PricePerKg};

/// Who brings it, new or changed. `supplier.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SupplierWritten {
    pub supplier: SupplierId,
    pub name: String,
    pub address: String,
    /// Establishment or approval number.
    pub number: String,
    pub contact: String,
    #[serde(default, with = "crate::measure::maybe_date", skip_serializing_if = "Option::is_none")]
    pub approved_until: Option<Date>,
    /// Papers held: certificates, letters of guarantee.
    #[serde(default)]
    pub papers: String,
    #[serde(default)]
    pub retired: bool,
}

impl Entry for SupplierWritten {
    const KIND: &'static str = "supplier.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.supplier)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{} in the list of suppliers", self.name)).why(self.number.clone())
    }
}

/// A docket is opened at the door. `delivery.received`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeliveryReceived {
    pub delivery: DeliveryId,
    pub supplier: Named<SupplierId>,
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
        let line =
            Line::new(format!("Delivery from {}", self.supplier.name)).why(format!("docket {}", self.docket));
        match self.vehicle {
            Some(vehicle) => line.figure(say.temperature(vehicle)),
            None => line,
        }
    }
}

/// Which weight a carcass was sold by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    Hot,
    Chilled,
}

impl Basis {
    pub fn word(self) -> &'static str {
        match self {
            Self::Hot => "hot",
            Self::Chilled => "chilled",
        }
    }
}

/// What is known of the animal, where it is meat.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Animal {
    pub species: String,
    pub breed: String,
    pub ear_tag: String,
    pub slaughter_lot: String,
    #[serde(with = "crate::measure::maybe_date", skip_serializing_if = "Option::is_none")]
    pub slaughtered: Option<Date>,
    /// Where it was slaughtered or cut.
    pub establishment: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Basis>,
    /// Whether it was frozen before.
    pub frozen: bool,
    /// Added solution; none said is none known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub solution: Option<Percent>,
}

/// What is known of an ingredient or a casing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Goods {
    pub supplier_lot: String,
    #[serde(with = "crate::measure::maybe_date", skip_serializing_if = "Option::is_none")]
    pub best_before: Option<Date>,
    pub allergens: Vec<String>,
    /// Per cent by weight, as NaNO2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nitrite: Option<Percent>,
    /// Per cent by weight, as NaNO3.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nitrate: Option<Percent>,
}

/// A line of a docket that the shop took in. `lot.received`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotReceived {
    pub delivery: DeliveryId,
    pub supplier: Named<SupplierId>,
    pub lot: LotId,
    pub code: LotCode,
    pub item: Named<ItemId>,
    pub form: Form,
    pub weight: Grams,
    pub place: Named<PlaceId>,
    /// Of the product, at its surface or its core.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<Celsius>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<PricePerKg>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub animal: Option<Animal>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub goods: Option<Goods>,
    /// Why it is on hold; not on hold when there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held: Option<String>,
}

impl Entry for LotReceived {
    const KIND: &'static str = "lot.received";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let lot = NewLot {
            id: self.lot,
            code: self.code,
            form: self.form,
            item: self.item.clone(),
            place: Some(self.place.id),
        };
        let effects = Effects::none()
            .open(lot)
            .account(Account::Supplier, Some(self.supplier.id.0), -self.weight)
            .give(self.lot, self.weight)
            .about(self.delivery)
            .about(self.supplier.id);
        match &self.held {
            Some(reason) => effects.hold(self.lot, reason),
            None => effects,
        }
    }

    fn line(&self, say: &Say) -> Line {
        let tag = self.animal.as_ref().map(|animal| animal.ear_tag.as_str()).filter(|tag| !tag.is_empty());
        let from = tag.map_or_else(String::new, |tag| format!("ear tag {tag}, "));
        let line = Line::new(format!("{} {} received", self.item.name, self.code))
            .why(format!("{from}{}, to {}", self.supplier.name, self.place.name))
            .figure(say.weight(self.weight));
        if self.held.is_some() { line.alarm("on hold") } else { line }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn carcass() -> LotReceived {
        LotReceived {
            delivery: DeliveryId(Uuid::from_u128(1)),
            supplier: Named::new(SupplierId(Uuid::from_u128(2)), "Hazel Farm"),
            lot: LotId(Uuid::from_u128(3)),
            code: "26329-02".parse().expect("a code"),
            item: Named::new(ItemId(Uuid::from_u128(4)), "pig carcass"),
            form: Form::Carcass,
            weight: Grams::whole(92_400),
            place: Named::new(PlaceId(Uuid::from_u128(5)), "cooler 1"),
            temperature: None,
            price: None,
            animal: None,
            goods: None,
            held: None,
        }
    }

    #[test]
    fn what_the_supplier_gave_is_what_lies_in_the_cooler() {
        assert!(carcass().effects().imbalance().is_zero());
    }

    #[test]
    fn a_lot_taken_in_on_hold_is_held_with_its_reason() {
        let held = LotReceived { held: Some("6.2 °C at the surface".into()), ..carcass() };
        assert_eq!(held.effects().holds, vec![(held.lot, "6.2 °C at the surface".to_owned())]);
    }
}
