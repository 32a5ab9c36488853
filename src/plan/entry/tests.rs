//! The rules of plans, in sentences.

use uuid::Uuid;

use super::*;
use crate::book::Seq;
use crate::checks::entry::Applies;
use crate::checks::{Quantity, Value};
use crate::deviations::Subject;
use crate::ids::{LotId, Named, PersonId, PlaceId, PlanId, PlannedCheckId};
use crate::measure::Celsius;
use crate::plan::shipped::shipped;
use crate::recipes::{RecipeKind, Stage};
use crate::setup::entry::PlaceKind;

fn plan(key: &str) -> Document {
    let all = shipped().expect("files that read");
    all.into_iter().find(|one| one.key == key).expect("shipped").document
}

fn id() -> PlanId {
    PlanId(Uuid::from_u128(1))
}

fn cold() -> PlannedCheck {
    plan("whole-muscle-dry-cure")
        .checks
        .into_iter()
        .find(|check| check.name == "Cold of the cure")
        .expect("shipped")
}

#[test]
fn a_plan_without_a_part_that_the_law_asks_for_is_not_signed() {
    let whole = plan("whole-muscle-dry-cure");
    let parts: [(&str, Document); 5] = [
        ("intended use", Document { intended_use: String::new(), ..whole.clone() }),
        ("records", Document { records: String::new(), ..whole.clone() }),
        ("documents", Document { papers: String::new(), ..whole.clone() }),
        ("steps", Document { steps: vec![], ..whole.clone() }),
        ("trained", Document { training: String::new(), ..whole }),
    ];
    for (part, document) in parts {
        let errors = sign(id(), document, "First.".into(), &Others::default()).expect_err(part);
        assert!(errors.list()[0].message.contains(part), "{part}: {}", errors.list()[0].message);
    }
}

#[test]
fn a_likely_hazard_without_a_critical_control_point_is_asked_about() {
    let mut document = plan("whole-muscle-dry-cure");
    document.steps[3].hazards[0].ccp = None;
    let lacks = document.lacks();
    assert!(lacks.iter().any(|one| one.contains("Growth before the salt has reached the core")), "{lacks:?}");
    assert!(
        lacks.iter().any(|one| one.contains("the hazard that \"Cold of the cure\" controls")),
        "{lacks:?}"
    );
}

#[test]
fn versions_are_counted_and_the_same_words_are_not_signed_twice() {
    let document = plan("fresh-sausage");
    let first = sign(id(), document.clone(), "First.".into(), &Others::default()).expect("complete");
    assert_eq!(first.version, 1);
    let others = Others { version: 1, standing: Some(document.clone()), covered: vec![] };
    assert!(sign(id(), document.clone(), "Again.".into(), &others).is_err());
    let changed = Document { describes: "Another package.".into(), ..document };
    assert_eq!(sign(id(), changed, "New package.".into(), &others).expect("changed").version, 2);
}

#[test]
fn two_plans_never_cover_the_same_kind_of_recipe() {
    let others = Others { covered: vec![(RecipeKind::GroundFresh, "Sausages".into())], ..Others::default() };
    let errors = sign(id(), plan("fresh-sausage"), "First.".into(), &others).expect_err("covered twice");
    assert_eq!(errors.list()[0].field, "covers");
    assert!(errors.list()[0].message.contains("Sausages"));
}

#[test]
fn a_measured_check_becomes_a_limit_for_the_batches_that_its_plan_covers_alone() {
    let document = plan("fermented-dry-sausage");
    let ph = document.checks.iter().find(|check| check.name.starts_with("pH")).expect("shipped");
    let first = By { plan: "salami", version: 1, covers: &document.covers, line: Some(Seq(12)) };
    let second = By { version: 2, line: Some(Seq(40)), ..first };
    let limit = ph.limit(&first).expect("measured");
    assert_eq!(limit.applies, Applies::End(Stage::Fermenting));
    assert_eq!(limit.only, [RecipeKind::GroundFermented]);
    assert!(limit.source.starts_with("salami, version 1"), "{}", limit.source);
    let later = ph.limit(&second).expect("measured");
    assert_eq!((limit.under, later.under), (Some(Seq(12)), Some(Seq(40))));
    assert!(limit.limit != later.limit && limit.name != later.name, "each version keeps its own");
    let room = cold().limit(&first).expect("measured");
    assert!(room.only.is_empty() && room.under.is_none());
    assert_eq!(cold().limit(&second).expect("measured").limit, room.limit, "a room has one");
    assert_eq!(document.checks[0].limit(&first), None);
}

#[test]
fn a_check_that_cannot_be_made_as_it_says_is_refused_at_its_field() {
    let measured = |least: Option<i32>, most: Option<i32>| Asks::Measured {
        quantity: Quantity::Temperature,
        least: least.map(|value| Value::Temperature(Celsius::hundredths(value))),
        most: most.map(|value| Value::Temperature(Celsius::hundredths(value))),
    };
    let wrong = [
        ("every", PlannedCheck { every: Every::Batch, ..cold() }),
        ("every", PlannedCheck { of: Applies::Stage(Stage::Drying), every: Every::Work(7), ..cold() }),
        ("most", PlannedCheck { asks: measured(Some(500), Some(400)), ..cold() }),
        ("source", PlannedCheck { source: String::new(), ..cold() }),
        ("number", PlannedCheck { every: Every::Hours(0), ..cold() }),
        ("number", PlannedCheck { every: Every::Work(24), ..cold() }),
        ("of", PlannedCheck { of: Applies::Form(crate::book::Form::Cut), ..cold() }),
    ];
    for (field, check) in wrong {
        let errors = plan_check(check).expect_err(field);
        assert_eq!(errors.list()[0].field, field);
    }
    assert!(plan_check(PlannedCheck { asks: measured(Some(400), Some(400)), ..cold() }).is_ok());
    assert!(plan_check(PlannedCheck { of: Applies::Kind(PlaceKind::Cooler), ..cold() }).is_ok());
}

fn surfaces() -> PlannedCheck {
    plan("sanitation-before-work").checks.into_iter().next().expect("shipped")
}

fn block() -> Subject {
    Subject::Place(Named::new(PlaceId(Uuid::from_u128(3)), "the block"))
}

fn item(name: &str, yes: bool, words: &str) -> Item {
    Item { name: name.into(), yes, words: words.into() }
}

#[test]
fn what_is_not_clean_says_what_was_done_and_opens_a_deviation() {
    let lot = Named::new(LotId(Uuid::from_u128(4)), "26329-02");
    let silent = vec![item("Knives", true, ""), item("Grinder", false, "")];
    assert_eq!(
        answer(&surfaces(), block(), silent, vec![], Uuid::from_u128(9)).expect_err("silent").list()[0].field,
        "words"
    );
    let said = vec![
        item("Knives", true, ""),
        item("Grinder", false, "fat behind the plate; cleaned and looked at again"),
    ];
    let answered = answer(&surfaces(), block(), said, vec![lot], Uuid::from_u128(9)).expect("said");
    assert!(!answered.yes());
    let opened = answered.deviation.as_ref().expect("opened");
    assert!(opened.what.contains("Grinder: fat behind the plate"), "{}", opened.what);
    assert_eq!(crate::book::Entry::effects(&answered).holds.len(), 1);
}

#[test]
fn what_is_in_order_holds_nothing() {
    let said = vec![item("Knives", true, ""), item("Grinder", true, "new plate")];
    let answered = answer(&surfaces(), block(), said, vec![], Uuid::from_u128(9)).expect("in order");
    assert!(answered.yes() && answered.deviation.is_none());
}

#[test]
fn a_measured_check_is_not_answered_with_a_yes() {
    assert!(answer(&cold(), block(), vec![item("", true, "")], vec![], Uuid::from_u128(9)).is_err());
}

#[test]
fn nobody_watches_themselves() {
    let me = PersonId(Uuid::from_u128(5));
    let seen = |who: PersonId| MonitoringObserved {
        check: Named::new(PlannedCheckId(Uuid::from_u128(6)), "Coolers"),
        who: Named::new(who, "Ada"),
        in_order: true,
        words: "Probe in the warmest corner.".into(),
    };
    assert!(observe(seen(me), me).is_err());
    assert!(observe(seen(PersonId(Uuid::from_u128(7))), me).is_ok());
}
