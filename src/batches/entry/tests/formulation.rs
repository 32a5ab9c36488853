//! What really went in, held against the limits in force.

use super::super::formulation::goes_on;
use super::*;
use crate::limits::{Held, InForce};
use crate::measure::ExactGrams;
use crate::recipes::IngoingBoth;
use crate::standards::ingoing::Brings;
use crate::standards::limits::{Jurisdiction, shipped};

/// What is in force in a shop that adopted a set, with the rows that it switched on.
fn adopted(of: Jurisdiction, on: &[&str]) -> InForce {
    let rows = shipped(of).expect("a list that reads").limits;
    let rows = rows
        .into_iter()
        .filter(|row| row.until.is_none() && (!row.waits() || on.contains(&row.key.as_str())));
    InForce { jurisdiction: Some(of), held: rows.map(|limit| Held { limit, own: None }).collect() }
}

fn brings(nitrite: Decimal) -> Brings {
    Brings { nitrite: Percent::new(nitrite), ..Brings::NOTHING }
}

fn cure(weight: Decimal, nitrite: Option<Decimal>) -> Weighing {
    Weighing {
        seq: Seq(7),
        n: 3,
        role: Role::Cure,
        name: "curing salt".into(),
        weight: ExactGrams::new(weight),
        brings: nitrite.map(brings),
        reason: String::new(),
    }
}

fn ppm(batch: &Standing, laid_on: Option<(Grams, Grams)>) -> Decimal {
    match actual(batch, laid_on) {
        Actual::Known(goes_in) => IngoingBoth::of(&goes_in).nitrite.exact().normalize(),
        other => panic!("no figure: {other:?}"),
    }
}

fn with(batch: Standing, weighings: Vec<Weighing>) -> Standing {
    Standing { weighings, ..batch }
}

#[test]
fn ingoing_nitrite_is_that_of_the_lots_that_were_weighed() {
    // Arithmetic on the forms of USDA FSIS Directive 7620.3: 25 g of a 6.25 % cure on 10 kg of meat.
    assert_eq!(ppm(&with(salami(), vec![cure(dec!(25), Some(dec!(6.25)))]), None), dec!(156.25));
    // Two lots of one cure in two strengths, each by its own.
    let two = vec![cure(dec!(10), Some(dec!(6.25))), cure(dec!(10), Some(dec!(5.88)))];
    assert_eq!(ppm(&with(salami(), two), None), dec!(121.3));
    assert_eq!(actual(&with(salami(), vec![cure(dec!(25), None)]), None), Actual::Unknown);
    assert_eq!(actual(&salami(), None), Actual::NoCure);
}

#[test]
fn what_was_left_over_of_a_cure_did_not_go_in() {
    let loins = with(loins(), vec![cure(dec!(30), Some(dec!(0.6)))]);
    let whole = ppm(&loins, Some((grams("30"), grams("0"))));
    let half = ppm(&loins, Some((grams("15"), grams("15"))));
    assert_eq!((whole, half), (dec!(60), dec!(30)));
}

/// A cure as a form brings it.
fn typed(weight: Decimal, reason: &str) -> IngredientWeighed {
    let exact = ExactGrams::new(weight);
    IngredientWeighed {
        weight: exact.grams(),
        exact: exact.beside(),
        reason: reason.into(),
        nitrite: Some(Percent::new(dec!(6.25))),
        ..weighed(3, Role::Cure, "1")
    }
}

fn held(of: Jurisdiction, on: &[&str]) -> Standing {
    Standing { in_force: adopted(of, on), ..salami() }
}

#[test]
fn two_and_a_half_grams_a_kilo_pass_and_the_smallest_step_more_is_refused() {
    let batch = held(Jurisdiction::UnitedStates, &[]);
    assert!(try_weigh(typed(dec!(25), ""), &batch).is_ok());
    // 0.001 g more: the ledger has 25.00 g for both.
    let over = typed(dec!(25.001), "");
    assert_eq!(over.weight, grams("25"));
    let refusal = try_weigh(over, &batch).expect_err("over 156.25 ppm");
    assert_eq!(refusal.field, "weight");
    let said = refusal.message.replace('\u{a0}', " ");
    assert!(said.contains("156.25625 ppm would go in") || said.contains("156.3 ppm would go in"), "{said}");
    assert!(said.contains("Take out 0.1 g of this cure"), "{said}");
    assert!(said.contains("1 g more meat"), "{said}");
}

#[test]
fn four_ounces_to_a_hundred_pounds_pass_exactly() {
    // 9 CFR 424.21(c): 1/4 oz of nitrite to 100 lb. The ledger has 113.40 g on 45,359.24 g, which would be 156.253 ppm.
    let mut batch = held(Jurisdiction::UnitedStates, &[]);
    batch.meat = grams("45359.24");
    batch.meat_exact = ExactGrams::new(dec!(45359.237));
    batch.lines[2].target = grams("113.40");
    assert!(try_weigh(typed(dec!(113.3980925), ""), &batch).is_ok());
    assert!(try_weigh(typed(dec!(113.40), ""), &batch).is_err(), "1.9 mg past it");
}

#[test]
fn a_shop_held_to_the_ion_is_refused_what_the_other_may_weigh() {
    // 156.25 ppm of NaNO2 are 104 ppm of NO2.
    let batch = held(Jurisdiction::EuropeanUnion, &[]);
    let refusal = try_weigh(typed(dec!(25), ""), &batch).expect_err("over 80 mg of NO2 to the kilo");
    assert!(refusal.message.contains("80 ppm is the most"), "{}", refusal.message);
    let mut less = held(Jurisdiction::EuropeanUnion, &[]);
    less.lines[2].target = grams("19");
    assert!(try_weigh(typed(dec!(19), ""), &less).is_ok(), "118.75 ppm of NaNO2 are 79.2 of NO2");
}

#[test]
fn below_a_minimum_that_the_shop_took_up_a_reason_is_kept() {
    let batch = || {
        let mut batch = held(Jurisdiction::UnitedStates, &["us-refrigerated-minimum"]);
        batch.lines[2].target = grams("15");
        batch
    };
    let silent = try_weigh(typed(dec!(15), ""), &batch()).expect_err("93.75 ppm");
    assert_eq!(silent.field, "reason");
    assert!(silent.message.contains("120 ppm are asked at least"), "{}", silent.message);
    let said = try_weigh(typed(dec!(15), "dried at once"), &batch()).expect("answered");
    assert_eq!((said.reason.as_str(), said.verdict), ("dried at once", Verdict::Within));
    // Without the minimum nobody asks.
    let mut free = held(Jurisdiction::UnitedStates, &[]);
    free.lines[2].target = grams("15");
    assert_eq!(try_weigh(typed(dec!(15), "x"), &free).expect("within").reason, "");
}

#[test]
fn no_batch_goes_on_over_a_limit_when_meat_was_taken_back() {
    let mut batch = with(held(Jurisdiction::UnitedStates, &[]), vec![cure(dec!(25), Some(dec!(6.25)))]);
    assert!(goes_on(&batch, None, "", SAY).is_ok());
    batch.meat = grams("9999.99");
    batch.meat_exact = grams("9999.99").into();
    let refusal = goes_on(&batch, None, "never mind", SAY).expect_err("too little meat");
    assert!(refusal.message.contains("1 g more meat"), "{}", refusal.message);
}

#[test]
fn an_unknown_strength_goes_nowhere_where_limits_are_in_force() {
    let unknown = vec![cure(dec!(25), None)];
    assert!(goes_on(&with(salami(), unknown.clone()), None, "", SAY).is_ok(), "no limit is in force");
    let batch = with(held(Jurisdiction::UnitedStates, &[]), unknown);
    assert!(goes_on(&batch, None, "", SAY).is_err());
}
