//! The lines of a docket: a lot that the shop took in, and what it refused.

use serde::{Deserialize, Serialize};
use time::Date;

use super::checks::Failed;
use crate::book::{Account, Effects, Entry, Form, Line, NewLot, Say};
use crate::ids::{DeliveryId, ItemId, LotId, Named, PlaceId, SupplierId};
use crate::measure::{Celsius, Grams, LotCode, Percent, PricePerKg};
use crate::standards::limits::Alkali;

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

impl std::str::FromStr for Basis {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        [Self::Hot, Self::Chilled].into_iter().find(|basis| basis.word() == text).ok_or(())
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
    /// Per cent by weight, as NaNO2, or as KNO2 where `nitrite_salt` says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nitrite: Option<Percent>,
    /// Per cent by weight, as NaNO3, or as KNO3 where `nitrate_salt` says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nitrate: Option<Percent>,
    /// The salt that the pack states its nitrite in; sodium where it is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nitrite_salt: Option<Alkali>,
    /// The salt that the pack states its nitrate in; sodium where it is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nitrate_salt: Option<Alkali>,
}

/// How a line stood against the shop's checks.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Checked {
    /// Every check that it did not meet.
    pub failed: Vec<Failed>,
    /// What the person said of it: why it was received although a check failed, or a remark.
    pub note: String,
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
    /// None where no check failed and nothing was remarked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked: Option<Checked>,
}

impl LotReceived {
    /// Every check that it did not meet.
    pub fn failed(&self) -> &[Failed] {
        self.checked.as_ref().map_or(&[], |checked| checked.failed.as_slice())
    }

    /// What was said of how it came in: failed checks, the hold, the remark.
    fn standing(&self, say: Say) -> Vec<String> {
        let failed = Failed::all(self.failed(), &say);
        let note = self.checked.as_ref().map_or("", |checked| checked.note.as_str());
        let mut said = Vec::new();
        if !failed.is_empty() && self.held.as_deref() != Some(failed.as_str()) {
            said.push(failed.clone());
        }
        match (&self.held, note) {
            (Some(reason), _) => said.push(format!("on hold: {reason}")),
            (None, "") => {}
            (None, note) if failed.is_empty() => said.push(note.to_owned()),
            (None, note) => said.push(format!("received because: {note}")),
        }
        said
    }
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
        let came = format!("{}{}, to {}", from(self.animal.as_ref()), self.supplier.name, self.place.name);
        let mut why = vec![came];
        why.extend(self.standing(*say));
        let line = Line::new(format!("{} {} received", self.item.name, self.code))
            .why(why.join(" · "))
            .figure(say.weight(self.weight));
        match (&self.held, self.failed()) {
            (Some(_), _) => line.alarm("on hold"),
            (None, []) => line,
            (None, _) => line.alarm("check failed"),
        }
    }
}

/// A line of a docket that the shop sent back. It has no lot, and nothing was moved. `lot.refused`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotRefused {
    pub delivery: DeliveryId,
    pub supplier: Named<SupplierId>,
    pub item: Named<ItemId>,
    pub form: Form,
    /// As weighed, or as the docket says.
    pub weight: Grams,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<Celsius>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<PricePerKg>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub animal: Option<Animal>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub goods: Option<Goods>,
    #[serde(default)]
    pub failed: Vec<Failed>,
    pub reason: String,
}

impl Entry for LotRefused {
    const KIND: &'static str = "lot.refused";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().about(self.delivery).about(self.supplier.id)
    }

    fn line(&self, say: &Say) -> Line {
        let failed = Failed::all(&self.failed, say);
        let mut why = vec![format!("{}{}", from(self.animal.as_ref()), self.supplier.name)];
        if failed != self.reason && !failed.is_empty() {
            why.push(failed);
        }
        why.push(format!("refused: {}", self.reason));
        Line::new(format!("{} refused", self.item.name))
            .why(why.join(" · "))
            .figure(say.weight(self.weight))
            .alarm("refused")
    }
}

/// The animal that it came from, where it has a name: "ear tag 482, ".
fn from(animal: Option<&Animal>) -> String {
    match animal {
        Some(animal) if !animal.ear_tag.is_empty() => format!("ear tag {}, ", animal.ear_tag),
        Some(animal) if !animal.slaughter_lot.is_empty() => {
            format!("slaughter lot {}, ", animal.slaughter_lot)
        }
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::UnitSystem;
    use uuid::Uuid;

    const SAY: Say = Say { system: UnitSystem::Metric };

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
            animal: Some(Animal { ear_tag: "482 113".into(), ..Animal::default() }),
            goods: None,
            held: None,
            checked: None,
        }
    }

    fn warm() -> Failed {
        Failed::TooWarm { measured: Celsius::hundredths(820), most: Celsius::whole(7) }
    }

    fn checked(note: &str) -> Checked {
        Checked { failed: vec![warm()], note: note.into() }
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

    #[test]
    fn the_line_says_every_failed_check_and_what_was_done_about_it() {
        let held =
            LotReceived { held: Some("chills till noon".into()), checked: Some(checked("")), ..carcass() };
        let line = held.line(&SAY);
        assert_eq!(
            line.why.replace('\u{a0}', " "),
            "ear tag 482 113, Hazel Farm, to cooler 1 · 8.2 °C is warmer than 7.0 °C · on hold: chills till noon"
        );
        assert_eq!(line.alarm, Some("on hold"));
        let accepted = LotReceived { checked: Some(checked("core at 3 °C")), ..carcass() }.line(&SAY);
        assert!(accepted.why.ends_with("received because: core at 3 °C"), "{}", accepted.why);
        assert_eq!(accepted.alarm, Some("check failed"));
    }

    #[test]
    fn what_is_refused_moves_nothing_and_opens_no_lot() {
        let LotReceived { delivery, supplier, item, form, weight, animal, .. } = carcass();
        let refused = LotRefused {
            delivery,
            supplier,
            item,
            form,
            weight,
            temperature: None,
            price: None,
            animal,
            goods: None,
            failed: vec![warm()],
            reason: "sent back".into(),
        };
        let effects = refused.effects();
        assert!(effects.movements.is_empty() && effects.opens.is_empty());
        assert_eq!(refused.line(&SAY).alarm, Some("refused"));
    }

    #[test]
    fn a_body_from_before_the_checks_were_kept_still_reads() {
        let mut body = serde_json::to_value(carcass()).expect("a body");
        body.as_object_mut().expect("an object").remove("checked");
        assert_eq!(serde_json::from_value::<LotReceived>(body).expect("reads"), carcass());
    }
}
