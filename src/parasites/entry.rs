//! The control of a product, the confirming of a method, a freezing that somebody states. Pure.

use serde::{Deserialize, Serialize};
use time::OffsetDateTime;

use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::{ItemId, LotId, Named, PlaceId};
use crate::measure::{Length, LengthUnit, UnitSystem};
use crate::standards::trichinella::Method;

/// What is done against parasites in a product.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Control {
    /// The supplier's certified programme, with papers.
    Programme,
    /// Not of pork, or nobody asks for it.
    NotAsked,
    Published(Method),
}

impl Control {
    /// What forms, bodies and the database carry.
    pub fn key(self) -> &'static str {
        match self {
            Self::Programme => "programme",
            Self::NotAsked => "not asked",
            Self::Published(method) => method.key(),
        }
    }

    pub fn words(self) -> &'static str {
        match self {
            Self::Programme => "the supplier's certified programme",
            Self::NotAsked => "none: not pork, or not asked for",
            Self::Published(method) => method.words(),
        }
    }

    /// All, in the order in which a form offers them.
    pub fn all() -> impl Iterator<Item = Self> {
        [Self::Programme, Self::NotAsked].into_iter().chain(Method::ALL.map(Self::Published))
    }
}

impl std::str::FromStr for Control {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::all().find(|control| control.key() == text).ok_or(())
    }
}

/// What the shop states once of a product, where its treatment asks for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Stated {
    #[serde(rename = "uncoated")]
    Uncoated,
    #[serde(rename = "smoked")]
    Smoked,
    #[serde(rename = "overhauled")]
    Overhauled,
    #[serde(rename = "salt kept")]
    SaltKept,
}

impl Stated {
    pub const ALL: [Self; 4] = [Self::Uncoated, Self::Smoked, Self::Overhauled, Self::SaltKept];

    pub const fn word(self) -> &'static str {
        match self {
            Self::Uncoated => "uncoated",
            Self::Smoked => "smoked",
            Self::Overhauled => "overhauled",
            Self::SaltKept => "salt kept",
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::Uncoated => "No paraffin on the casing, and it is not washed while it dries",
            Self::Smoked => "The fermenting stage is done in smoke",
            Self::Overhauled => "Turned and salted again at least once",
            Self::SaltKept => {
                "Nothing takes salt out of it beyond a superficial wash, or the soak that the method allows"
            }
        }
    }
}

impl std::str::FromStr for Stated {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|one| one.word() == text).ok_or(())
    }
}

/// A product's control, first or changed. `parasite-control.chosen`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ControlChosen {
    pub product: Named<ItemId>,
    /// [`Control::key`]
    pub control: String,
    /// What it rests on: the certificate, the code and its edition, the shop's plan.
    pub document: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// What the largest pieces of meat pass through.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub particle: Option<Length>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub states: Vec<Stated>,
}

impl Entry for ControlChosen {
    const KIND: &'static str = "parasite-control.chosen";

    fn effects(&self) -> Effects {
        Effects::none().about(self.product.id)
    }

    fn line(&self, _say: &Say) -> Line {
        let control =
            self.control.parse::<Control>().map_or(self.control.as_str(), |control| control.words());
        let why = [self.document.as_str(), self.reason.as_str()];
        let why: Vec<_> = why.into_iter().filter(|text| !text.is_empty()).collect();
        Line::new(format!("Against parasites in {}: {control}", self.product.name)).why(why.join("; "))
    }
}

/// What a product is chosen for, and by what: `species` as the shop's list has it, `confirmed` the methods from memory that
/// the shop has confirmed.
pub fn choose(chosen: ControlChosen, species: &str, confirmed: &[Method]) -> Result<ControlChosen, Refusal> {
    let control: Control = chosen
        .control
        .parse()
        .map_err(|()| Refusal::at("control", "Choose what is done against parasites."))?;
    match control {
        Control::NotAsked if chosen.reason.is_empty() => {
            Err(Refusal::at("reason", "Say why nothing is asked for: what animal it is of, or who said so."))
        }
        Control::Programme | Control::Published(_) if chosen.document.is_empty() => Err(Refusal::at(
            "document",
            "Say which document it rests on: the certificate, or the code and its edition.",
        )),
        Control::Published(method) if !method.mark().is_confirmed() && !confirmed.contains(&method) => {
            Err(Refusal::at(
                "control",
                format!(
                    "{} stands here from memory. Confirm it against its text first.",
                    sentence(method.words())
                ),
            ))
        }
        Control::Published(Method::Freezing | Method::CentreFreezing)
            if !species.is_empty() && !crate::standards::trichinella::may_be_frozen(species) =>
        {
            Err(Refusal::at(
                "control",
                format!(
                    "Freezing is for farmed pork. Parasites of other animals outlive it, and this is of {species}."
                ),
            ))
        }
        _ => Ok(chosen),
    }
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A method that stands here from memory is confirmed against its text, or no longer rested on. `parasite-method.confirmed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MethodConfirmed {
    /// [`Method::key`]
    pub method: String,
    pub in_force: bool,
    /// Which text it was held against, and by whom.
    pub reason: String,
}

impl Entry for MethodConfirmed {
    const KIND: &'static str = "parasite-method.confirmed";

    fn line(&self, _say: &Say) -> Line {
        let words = Method::of_key(&self.method).map_or(self.method.as_str(), |method| method.words());
        let what = if self.in_force { "confirmed against its text" } else { "no longer rested on" };
        Line::new(format!("Treatment against parasites, {words}: {what}")).why(self.reason.clone())
    }
}

/// Only what is from memory is confirmed; the rest was read.
pub fn confirm(confirmed: MethodConfirmed) -> Result<MethodConfirmed, Refusal> {
    match Method::of_key(&confirmed.method) {
        None => Err(Refusal::at("method", "Choose the method.")),
        Some(method) if method.mark().is_confirmed() => {
            Err(Refusal::at("method", "This one was read from its text; it needs no confirming."))
        }
        Some(_) => Ok(confirmed),
    }
}

/// Lots are frozen, as somebody states it; the temperatures are those read in the freezer. `freezing.recorded`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FreezingRecorded {
    pub lots: Vec<Named<LotId>>,
    pub freezer: Named<PlaceId>,
    /// Of the pieces, layers, boxes or blocks.
    pub thickness: Length,
    /// Spaced so that air moves freely among them.
    pub spaced: bool,
    #[serde(with = "time::serde::rfc3339")]
    pub from: OffsetDateTime,
    /// None as long as it lasts.
    #[serde(default, with = "time::serde::rfc3339::option", skip_serializing_if = "Option::is_none")]
    pub to: Option<OffsetDateTime>,
}

impl Entry for FreezingRecorded {
    const KIND: &'static str = "freezing.recorded";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.freezer.id);
        self.lots.iter().fold(effects, |effects, lot| effects.about(lot.id))
    }

    fn line(&self, say: &Say) -> Line {
        let what = match self.lots.as_slice() {
            [one] => format!("{} frozen in {}", one.name, self.freezer.name),
            many => format!("{} lots frozen in {}", many.len(), self.freezer.name),
        };
        let unit = match say.system {
            UnitSystem::Metric => LengthUnit::Millimetre,
            UnitSystem::Us => LengthUnit::Inch,
        };
        let spaced = if self.spaced { "spaced" } else { "not spaced" };
        let ended = if self.to.is_some() { "ended" } else { "lasting" };
        let thick =
            format!("{} {} thick", self.thickness.number(unit).round_dp(2).normalize(), unit.symbol());
        Line::new(what).why(format!("{thick}, {spaced}, {ended}"))
    }
}

/// A freezing has lots and a thickness, ends after it began, and is written when it has begun.
pub fn record_freezing(freezing: FreezingRecorded, now: OffsetDateTime) -> Result<FreezingRecorded, Refusal> {
    if freezing.lots.is_empty() {
        return Err(Refusal::at("lots", "Give the code of what is frozen."));
    }
    if !freezing.thickness.decimal().is_sign_positive() || freezing.thickness == Length::ZERO {
        return Err(Refusal::at("thickness", "Give the thickness of the pieces or blocks."));
    }
    if freezing.from > now {
        return Err(Refusal::at("from", "It is written when it has begun."));
    }
    match freezing.to {
        Some(to) if to <= freezing.from => Err(Refusal::at("to", "It ended after it began.")),
        Some(to) if to > now => Err(Refusal::at("to", "It is written when it has ended.")),
        _ => Ok(freezing),
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::Duration;
    use time::macros::datetime;
    use uuid::Uuid;

    use super::*;

    fn chosen(control: &str) -> ControlChosen {
        ControlChosen {
            product: Named::new(ItemId(Uuid::from_u128(1)), "salami"),
            control: control.into(),
            document: "1 CRR-NY 318.10, edition of 2026".into(),
            reason: String::new(),
            particle: None,
            states: vec![],
        }
    }

    #[test]
    fn every_control_is_found_by_its_key() {
        for control in Control::all() {
            assert_eq!(control.key().parse(), Ok(control));
        }
        assert_eq!("ham-4".parse::<Control>(), Err(()));
        assert!(Stated::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
    }

    #[test]
    fn what_is_from_memory_is_confirmed_before_it_is_chosen() {
        assert!(choose(chosen("sausage-1"), "pork", &[]).is_ok());
        let refused = choose(chosen("sausage-6"), "pork", &[]).expect_err("refused");
        assert_eq!(refused.field, "control");
        assert!(choose(chosen("sausage-6"), "pork", &[Method::Sausage6]).is_ok());
        let confirmed =
            |method: &str| MethodConfirmed { method: method.into(), in_force: true, reason: "read".into() };
        assert!(confirm(confirmed("coppa")).is_ok());
        assert_eq!(confirm(confirmed("sausage-1")).expect_err("refused").field, "method");
        assert_eq!(confirm(confirmed("ham-5")).expect_err("refused").field, "method");
    }

    #[test]
    fn game_is_not_frozen_against_parasites() {
        for species in ["wild boar", "bear"] {
            let refused = choose(chosen("freezing"), species, &[]).expect_err("refused");
            assert!(refused.message.contains(species));
        }
        assert!(choose(chosen("freezing"), "pork", &[]).is_ok());
    }

    #[test]
    fn a_control_has_its_document_and_none_has_its_reason() {
        let bare = |control: &str| ControlChosen { document: String::new(), ..chosen(control) };
        assert_eq!(choose(bare("programme"), "pork", &[]).expect_err("refused").field, "document");
        assert_eq!(choose(bare("not asked"), "beef", &[]).expect_err("refused").field, "reason");
        let said = ControlChosen { reason: "It is of beef.".into(), ..bare("not asked") };
        assert!(choose(said, "beef", &[]).is_ok());
        assert_eq!(choose(bare("prayer"), "pork", &[]).expect_err("refused").field, "control");
    }

    #[test]
    fn a_freezing_ends_after_it_began_and_not_tomorrow() {
        let now = datetime!(2026-11-25 09:00 UTC);
        let freezing = FreezingRecorded {
            lots: vec![Named::new(LotId(Uuid::from_u128(2)), "26329-02")],
            freezer: Named::new(PlaceId(Uuid::from_u128(3)), "freezer 1"),
            thickness: Length::new(dec!(120)),
            spaced: true,
            from: now - Duration::days(20),
            to: Some(now),
        };
        assert!(record_freezing(freezing.clone(), now).is_ok());
        let field = |freezing| record_freezing(freezing, now).expect_err("refused").field;
        assert_eq!(field(FreezingRecorded { lots: vec![], ..freezing.clone() }), "lots");
        assert_eq!(field(FreezingRecorded { thickness: Length::ZERO, ..freezing.clone() }), "thickness");
        assert_eq!(field(FreezingRecorded { to: Some(freezing.from), ..freezing.clone() }), "to");
        let late = now + Duration::minutes(1);
        assert_eq!(field(FreezingRecorded { to: Some(late), ..freezing.clone() }), "to");
        assert_eq!(field(FreezingRecorded { from: late, to: None, ..freezing.clone() }), "from");
        let line = freezing.line(&Say { system: UnitSystem::Metric });
        assert_eq!(line.what, "26329-02 frozen in freezer 1");
    }
}
