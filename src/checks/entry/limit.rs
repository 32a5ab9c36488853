//! Limits: what a reading is held against, for which things, and where the figure comes from.

use serde::{Deserialize, Serialize};

use super::value::{Quantity, Value, band};
use crate::book::{Effects, Entry, Form, Line, Say, Seq};
use crate::error::Refusal;
use crate::ids::{LimitId, Named, PlaceId};
use crate::measure::UnitSystem;
use crate::recipes::{RecipeKind, Stage};
use crate::setup::entry::PlaceKind;

/// What a limit holds for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Applies {
    /// One place.
    Place(Named<PlaceId>),
    /// Every place of a kind.
    Kind(PlaceKind),
    /// Every lot of a form.
    Form(Form),
    /// Every batch while it is in a stage.
    Stage(Stage),
    /// Every batch when it ends a stage: a pH falls while it ferments, and counts only at the end.
    End(Stage),
}

impl Applies {
    /// Which of the five it is, as the database says it.
    pub fn sort(&self) -> &'static str {
        match self {
            Self::Place(_) => "place",
            Self::Kind(_) => "kind",
            Self::Form(_) => "form",
            Self::Stage(_) => "stage",
            Self::End(_) => "end",
        }
    }

    /// The kind, the form or the stage; empty for one place.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Place(_) => "",
            Self::Kind(kind) => kind.word(),
            Self::Form(form) => form.word(),
            Self::Stage(stage) | Self::End(stage) => stage.word(),
        }
    }

    /// As a page says it: "every cooler", "a batch at the end of fermenting".
    pub fn text(&self) -> String {
        match self {
            Self::Place(place) => place.name.clone(),
            Self::Kind(kind) => format!("every {}", kind.word()),
            Self::Form(form) => format!("every lot of the form {}", form.word()),
            Self::Stage(stage) => format!("a batch while it is {}", stage.word()),
            Self::End(stage) => format!("a batch at the end of {}", stage.word()),
        }
    }

    /// Whether it speaks of batches.
    pub fn is_of_batches(&self) -> bool {
        matches!(self, Self::Stage(_) | Self::End(_))
    }
}

/// A limit, new or changed. `limit.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LimitWritten {
    pub limit: LimitId,
    pub name: String,
    pub quantity: Quantity,
    pub applies: Applies,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<Value>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<Value>,
    /// Law, guideline, common practice, or the shop's own plan.
    pub source: String,
    /// The kinds of recipe whose batches it is for; empty for all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub only: Vec<RecipeKind>,
    /// The line of the version of a plan that it is of: it holds for the batches that were begun under that version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under: Option<Seq>,
    #[serde(default)]
    pub retired: bool,
}

impl LimitWritten {
    /// Whether it can hold for a thing; those at the end of a stage hold when that is what is being checked.
    pub fn holds_for(&self, here: &Where) -> bool {
        here.falls_under(&self.applies)
            && (self.only.is_empty() || here.recipe.is_some_and(|kind| self.only.contains(&kind)))
            && (self.under.is_none() || self.under == here.plan)
    }

    /// What it holds for, as a page says it: "a batch at the end of fermenting, ground and fermented".
    pub fn held_for(&self) -> String {
        let only: Vec<&str> = self.only.iter().map(|kind| kind.word()).collect();
        if only.is_empty() {
            self.applies.text()
        } else {
            format!("{}: {}", self.applies.text(), only.join("; "))
        }
    }

    /// `at most 4.0 °C`
    pub fn band(&self, system: UnitSystem) -> String {
        band(self.least, self.most, system)
    }

    fn kept(&self) -> Against {
        Against {
            limit: Named::new(self.limit, self.name.clone()),
            least: self.least,
            most: self.most,
            source: self.source.clone(),
        }
    }
}

impl Entry for LimitWritten {
    const KIND: &'static str = "limit.written";

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.limit);
        match &self.applies {
            Applies::Place(place) => effects.about(place.id),
            _ => effects,
        }
    }

    fn line(&self, say: &Say) -> Line {
        let line = Line::new(format!("Limit {}", self.name)).figure(self.band(say.system));
        let word = if self.retired { "no longer in force, " } else { "" };
        line.why(format!("{word}{} of {}", self.quantity.name(), self.held_for()))
    }
}

/// A limit has an end at least, its ends are the right way round, and its figures are of its quantity.
pub fn write_limit(limit: LimitWritten) -> Result<LimitWritten, Refusal> {
    let foreign = |end: Option<Value>| end.is_some_and(|value| value.quantity() != limit.quantity);
    if foreign(limit.least) || foreign(limit.most) {
        return Err(Refusal::of("The figures of a limit are of its own quantity."));
    }
    match (limit.least, limit.most) {
        (None, None) => Err(Refusal::at("most", "Give the least, the most, or both.")),
        (Some(least), Some(most)) if least.decimal() > most.decimal() => {
            Err(Refusal::at("most", "The most is below the least."))
        }
        _ => Ok(limit),
    }
}

/// A limit as it was in force when a reading was held against it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Against {
    pub limit: Named<LimitId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<Value>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<Value>,
    pub source: String,
}

impl Against {
    /// Exactly at the limit is met.
    pub fn met(&self, value: Value) -> bool {
        self.least.is_none_or(|least| value.decimal() >= least.decimal())
            && self.most.is_none_or(|most| value.decimal() <= most.decimal())
    }

    pub fn band(&self, system: UnitSystem) -> String {
        band(self.least, self.most, system)
    }
}

/// What there is to know of a thing to find the limits that hold for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Where {
    pub place: Option<PlaceId>,
    pub kind: Option<PlaceKind>,
    pub form: Option<Form>,
    /// Of the batch, or of the batch that the lot belongs to.
    pub stage: Option<Stage>,
    /// How that batch is made.
    pub recipe: Option<RecipeKind>,
    /// The line of the version of a plan that it was begun under.
    pub plan: Option<Seq>,
}

impl Where {
    /// Whether a limit of this sort can hold for it; those at the end of a stage hold when that is what is being checked.
    pub fn falls_under(&self, applies: &Applies) -> bool {
        match applies {
            Applies::Place(place) => self.place == Some(place.id),
            Applies::Kind(kind) => self.kind == Some(*kind),
            Applies::Form(form) => self.form == Some(*form),
            Applies::Stage(stage) | Applies::End(stage) => self.stage == Some(*stage),
        }
    }
}

/// The limits in force for a quantity of a thing; those at the end of a stage only where `at_end` says that it is one.
pub fn against(limits: &[LimitWritten], here: &Where, quantity: Quantity, at_end: bool) -> Vec<Against> {
    limits
        .iter()
        .filter(|limit| !limit.retired && limit.quantity == quantity && limit.holds_for(here))
        .filter(|limit| at_end || !matches!(limit.applies, Applies::End(_)))
        .map(LimitWritten::kept)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Celsius, Ph};
    use uuid::Uuid;

    fn celsius(hundredths: i32) -> Value {
        Value::Temperature(Celsius::hundredths(hundredths))
    }

    fn limit(applies: Applies, least: Option<Value>, most: Option<Value>) -> LimitWritten {
        let quantity = least.or(most).map_or(Quantity::Temperature, Value::quantity);
        LimitWritten {
            limit: LimitId(Uuid::from_u128(1)),
            name: "coolers".into(),
            quantity,
            applies,
            least,
            most,
            source: "common practice".into(),
            only: vec![],
            under: None,
            retired: false,
        }
    }

    #[test]
    fn exactly_at_the_limit_is_met_and_one_hundredth_past_it_is_not() {
        let band =
            limit(Applies::Kind(PlaceKind::CuringFridge), Some(celsius(200)), Some(celsius(400))).kept();
        assert!(band.met(celsius(200)) && band.met(celsius(400)));
        assert!(!band.met(celsius(199)) && !band.met(celsius(401)));
    }

    #[test]
    fn a_limit_for_every_cooler_does_not_hold_for_a_chamber() {
        let all = [limit(Applies::Kind(PlaceKind::Cooler), None, Some(celsius(400)))];
        let cooler = Where { kind: Some(PlaceKind::Cooler), ..Where::default() };
        let chamber = Where { kind: Some(PlaceKind::Chamber), ..Where::default() };
        assert_eq!(against(&all, &cooler, Quantity::Temperature, false).len(), 1);
        assert!(against(&all, &cooler, Quantity::Humidity, false).is_empty());
        assert!(against(&all, &chamber, Quantity::Temperature, false).is_empty());
    }

    #[test]
    fn a_ph_is_held_against_its_limit_only_at_the_end_of_fermenting() {
        let all = [limit(Applies::End(Stage::Fermenting), None, Some(Value::Ph(Ph::hundredths(530))))];
        let batch = Where { stage: Some(Stage::Fermenting), ..Where::default() };
        assert!(against(&all, &batch, Quantity::Ph, false).is_empty());
        assert_eq!(against(&all, &batch, Quantity::Ph, true).len(), 1);
    }

    #[test]
    fn a_limit_of_a_plans_version_holds_for_the_batches_begun_under_that_version_alone() {
        let ph = limit(Applies::End(Stage::Fermenting), None, Some(Value::Ph(Ph::hundredths(530))));
        let all = [LimitWritten { under: Some(Seq(12)), ..ph }];
        let batch = |plan: Option<Seq>| Where { stage: Some(Stage::Fermenting), plan, ..Where::default() };
        let held = |plan| against(&all, &batch(plan), Quantity::Ph, true).len();
        assert_eq!((held(Some(Seq(12))), held(Some(Seq(40))), held(None)), (1, 0, 0));
    }

    #[test]
    fn a_limit_without_ends_or_with_its_ends_crossed_is_refused() {
        let cooler = || Applies::Kind(PlaceKind::Cooler);
        assert_eq!(write_limit(limit(cooler(), None, None)).expect_err("no end").field, "most");
        assert!(write_limit(limit(cooler(), Some(celsius(401)), Some(celsius(400)))).is_err());
        assert!(write_limit(limit(cooler(), Some(celsius(400)), Some(celsius(400)))).is_ok());
        let foreign = LimitWritten { quantity: Quantity::Ph, ..limit(cooler(), None, Some(celsius(400))) };
        assert!(write_limit(foreign).is_err());
    }

    #[test]
    fn a_limit_no_longer_in_force_is_held_against_nothing() {
        let retired = LimitWritten {
            only: vec![],
            under: None,
            retired: true,
            ..limit(Applies::Kind(PlaceKind::Cooler), None, Some(celsius(400)))
        };
        let cooler = Where { kind: Some(PlaceKind::Cooler), ..Where::default() };
        assert!(against(&[retired], &cooler, Quantity::Temperature, true).is_empty());
    }
}
