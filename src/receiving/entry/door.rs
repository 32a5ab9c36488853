//! The rules at the door: what can be true of a line, which checks it does not meet, and what the shop may answer.

use std::str::FromStr;

use time::Date;

use super::checks::{Checks, Failed};
use super::lot::{Animal, Goods};
use crate::book::{Form, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{ItemId, Named};
use crate::measure::{Celsius, Grams, Percent, PricePerKg, day_year};

/// The heaviest that one line is: more than any carcass, and than a pallet of salt.
const HEAVIEST: i64 = 2_000_000;
/// Meat that was slaughtered longer ago than this many days needs a remark.
const LONG_AGO: i64 = 60;

/// What stands on the scale, before the shop has answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Brought {
    pub item: Named<ItemId>,
    pub form: Form,
    pub weight: Grams,
    pub temperature: Option<Celsius>,
    pub price: Option<PricePerKg>,
    pub animal: Option<Animal>,
    pub goods: Option<Goods>,
    /// Whether the person says that it is a cure: it holds nitrite or nitrate.
    pub cure: bool,
}

/// What the line is held against.
#[derive(Debug, Clone, Copy)]
pub struct Door<'a> {
    /// The shop's day of the delivery.
    pub day: Date,
    pub docket: &'a str,
    /// The last day of the supplier's approval.
    pub approved_until: Option<Date>,
    /// Whether an earlier lot of the item came with a strength.
    pub cure_before: bool,
    pub checks: &'a Checks,
}

/// The shop's answer on a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    Received,
    OnHold,
    Refused,
}

impl Answer {
    pub const ALL: [Self; 3] = [Self::Received, Self::OnHold, Self::Refused];

    pub fn word(self) -> &'static str {
        match self {
            Self::Received => "received",
            Self::OnHold => "on hold",
            Self::Refused => "refused",
        }
    }
}

impl FromStr for Answer {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|answer| answer.word() == text).ok_or(())
    }
}

/// An answer that stands, with its reason in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    pub answer: Answer,
    pub failed: Vec<Failed>,
    pub reason: String,
}

/// What cannot be true of a line is a slip, whatever the shop answers.
pub fn plausible(brought: &Brought, day: Date, note: &str) -> Result<(), Errors> {
    let mut errors = Errors::default();
    if brought.weight > Grams::whole(HEAVIEST) {
        let say = "One line is at most 2,000 kg (4,409 lb). Check the figure and its unit.";
        errors.push(Refusal::at("weight", say));
    }
    if let Some(animal) = &brought.animal {
        animal_is_plausible(animal, day, note, &mut errors);
    }
    if let Some(goods) = &brought.goods {
        strength_is_plausible(goods, brought.cure, &mut errors);
    }
    if errors.is_empty() { Ok(()) } else { Err(errors) }
}

fn animal_is_plausible(animal: &Animal, day: Date, note: &str, errors: &mut Errors) {
    match animal.slaughtered {
        Some(slaughtered) if slaughtered > day => {
            let say = format!("It came on {}, before this day.", day_year(day));
            errors.push(Refusal::at("slaughtered", say));
        }
        Some(slaughtered) if (day - slaughtered).whole_days() > LONG_AGO && note.is_empty() => {
            let ago = (day - slaughtered).whole_days();
            let say = format!("That is {ago} days before it came. Check the date, or say why in the reason.");
            errors.push(Refusal::at("slaughtered", say));
        }
        _ => {}
    }
    if animal.solution.is_some_and(|percent| percent > Percent::HUNDRED) {
        errors.push(Refusal::at("solution", "An added solution is at most 100 %."));
    }
}

fn strength_is_plausible(goods: &Goods, cure: bool, errors: &mut Errors) {
    let sum = goods.nitrite.unwrap_or_default() + goods.nitrate.unwrap_or_default();
    if cure && sum == Percent::ZERO {
        let say = "Say the strength of this cure, as its label has it. The sums of every batch rest on it.";
        errors.push(Refusal::at("nitrite", say));
    }
    if !cure && sum > Percent::ZERO {
        errors.push(Refusal::at("cure", "What holds nitrite or nitrate is a cure. Say so here."));
    }
    if sum > Percent::HUNDRED {
        errors.push(Refusal::at("nitrite", "Nitrite and nitrate together are at most 100 %."));
    }
}

/// Every check that the line does not meet. What was not measured or is not known was not met.
pub fn failed(brought: &Brought, door: &Door<'_>) -> Vec<Failed> {
    let mut failed = Vec::new();
    if let Some(most) = door.checks.warmest(brought.form) {
        match brought.temperature {
            Some(measured) if measured > most => failed.push(Failed::TooWarm { measured, most }),
            Some(_) => {}
            None => failed.push(Failed::NotMeasured { most }),
        }
    }
    if let Some(animal) = &brought.animal {
        failed.extend(of_meat(brought.form, animal, door.checks));
    }
    if let Some(goods) = &brought.goods {
        failed.extend(of_goods(goods, brought.cure, door));
    }
    failed.extend(of_papers(door));
    failed
}

fn of_meat(form: Form, animal: &Animal, checks: &Checks) -> Vec<Failed> {
    let mut failed = Vec::new();
    if checks.solution && !matches!(form, Form::Carcass | Form::Side) {
        match animal.solution {
            None => failed.push(Failed::SolutionNotKnown),
            Some(percent) if percent > Percent::ZERO => failed.push(Failed::Solution { percent }),
            Some(_) => {}
        }
    }
    let muscle = matches!(form, Form::Carcass | Form::Side | Form::Primal | Form::Cut);
    if checks.frozen && muscle && animal.frozen {
        failed.push(Failed::Frozen);
    }
    failed
}

fn of_goods(goods: &Goods, cure: bool, door: &Door<'_>) -> Vec<Failed> {
    let mut failed = Vec::new();
    if let Some(best) = goods.best_before.filter(|best| *best < door.day) {
        failed.push(Failed::BestBefore { day: Some(best) });
    }
    if door.cure_before && !cure {
        failed.push(Failed::NoStrength);
    }
    failed
}

fn of_papers(door: &Door<'_>) -> Vec<Failed> {
    let mut failed = Vec::new();
    match door.approved_until {
        _ if !door.checks.supplier => {}
        None => failed.push(Failed::NotApproved),
        Some(until) if until < door.day => failed.push(Failed::ApprovalEnded { until: Some(until) }),
        Some(_) => {}
    }
    if door.checks.docket && door.docket.is_empty() {
        failed.push(Failed::NoDocket);
    }
    failed
}

/// A failed check never passes in silence: the line is held or refused, or somebody who may (`may_accept`) receives it
/// all the same and says why. Being held or refused always has a reason; the failed checks are one.
pub fn answer(
    answer: Answer,
    reason: String,
    failed: Vec<Failed>,
    may_accept: bool,
    say: &Say,
) -> Result<Answered, Refusal> {
    let words = Failed::all(&failed, say);
    if answer == Answer::Received && !failed.is_empty() {
        if failed.iter().any(Failed::must_be_held) {
            return Err(Refusal::at("answer", format!("Receive it on hold, or refuse it: {words}.")));
        }
        if !may_accept {
            let message = format!(
                "Receive it on hold, or refuse it: {words}. Only the owner or a curer receives it as it is, and says why."
            );
            return Err(Refusal::at("answer", message));
        }
        if reason.is_empty() {
            let message =
                format!("Say why it is received although {words}; or receive it on hold, or refuse it.");
            return Err(Refusal::at("reason", message));
        }
    }
    let reason = match (answer, reason.is_empty()) {
        (Answer::Received, _) | (_, false) => reason,
        (_, true) if failed.is_empty() => {
            return Err(Refusal::at("reason", "Every check was met. Say why it is held or refused."));
        }
        (_, true) => words,
    };
    Ok(Answered { answer, failed, reason })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::UnitSystem;
    use rust_decimal::dec;
    use time::Duration;
    use time::macros::date;
    use uuid::Uuid;

    const SAY: Say = Say { system: UnitSystem::Metric };
    const DAY: Date = date!(2026 - 11 - 24);

    fn meat(form: Form) -> Brought {
        Brought {
            item: Named::new(ItemId(Uuid::from_u128(1)), "pork loin"),
            form,
            weight: Grams::whole(8_400),
            temperature: Some(Celsius::whole(3)),
            price: None,
            animal: Some(Animal { solution: Some(Percent::ZERO), ..Animal::default() }),
            goods: None,
            cure: false,
        }
    }

    fn animal(change: impl FnOnce(&mut Animal)) -> Brought {
        let mut brought = meat(Form::Cut);
        change(brought.animal.as_mut().expect("meat"));
        brought
    }

    fn goods(cure: bool, goods: Goods) -> Brought {
        Brought { animal: None, goods: Some(goods), cure, temperature: None, ..meat(Form::Ingredient) }
    }

    fn at(checks: &Checks) -> Door<'_> {
        Door { day: DAY, docket: "D-118", approved_until: Some(DAY), cure_before: false, checks }
    }

    fn fails(brought: &Brought) -> Vec<&'static str> {
        failed(brought, &at(&Checks::usual(UnitSystem::Metric))).iter().map(Failed::key).collect()
    }

    #[test]
    fn a_chilled_loin_of_an_approved_supplier_meets_every_check() {
        assert_eq!(fails(&meat(Form::Cut)), [""; 0]);
    }

    #[test]
    fn product_is_cold_enough_to_the_last_hundredth() {
        let with =
            |form, hundredths| Brought { temperature: Some(Celsius::hundredths(hundredths)), ..meat(form) };
        for (form, just, over) in [(Form::Cut, 400, 401), (Form::Side, 700, 701), (Form::Offal, 300, 301)] {
            assert_eq!(fails(&with(form, just)), [""; 0], "{form:?}");
            assert_eq!(fails(&with(form, over)), ["too warm"], "{form:?}");
        }
        assert_eq!(fails(&Brought { temperature: None, ..meat(Form::Cut) }), ["not measured"]);
    }

    #[test]
    fn a_solution_that_was_added_or_that_nobody_knows_of_fails_in_cuts_and_not_in_carcasses() {
        assert_eq!(fails(&animal(|a| a.solution = Some(Percent::new(dec!(12))))), ["added solution"]);
        assert_eq!(fails(&animal(|a| a.solution = None)), ["solution not known"]);
        let carcass = Brought { animal: Some(Animal::default()), ..meat(Form::Carcass) };
        assert_eq!(fails(&carcass), [""; 0]);
    }

    #[test]
    fn thawed_muscle_fails_and_thawed_trim_does_not() {
        assert_eq!(fails(&animal(|a| a.frozen = true)), ["frozen before"]);
        let trim = Brought { form: Form::Trim, ..animal(|a| a.frozen = true) };
        assert_eq!(fails(&trim), [""; 0]);
    }

    #[test]
    fn an_approval_holds_to_the_end_of_its_last_day() {
        let checks = Checks::usual(UnitSystem::Metric);
        let with = |approved_until| {
            failed(&meat(Form::Cut), &Door { approved_until, ..at(&checks) })
                .iter()
                .map(Failed::key)
                .collect::<Vec<_>>()
        };
        assert_eq!(with(Some(DAY)), [""; 0]);
        assert_eq!(with(Some(DAY - Duration::DAY)), ["approval ended"]);
        assert_eq!(with(None), ["supplier not approved"]);
    }

    #[test]
    fn what_came_without_a_docket_fails() {
        let checks = Checks::usual(UnitSystem::Metric);
        let keys = failed(&meat(Form::Cut), &Door { docket: "", ..at(&checks) });
        assert_eq!(keys, [Failed::NoDocket]);
    }

    #[test]
    fn checks_that_the_shop_switched_off_fail_nothing() {
        let off = Checks {
            chilled: None,
            carcass: None,
            offal: None,
            solution: false,
            frozen: false,
            supplier: false,
            docket: false,
        };
        let warm = Brought {
            temperature: Some(Celsius::whole(30)),
            ..animal(|a| (a.frozen, a.solution) = (true, None))
        };
        assert_eq!(failed(&warm, &Door { docket: "", approved_until: None, ..at(&off) }), []);
    }

    #[test]
    fn an_ingredient_past_its_best_is_held_or_refused_whoever_signs() {
        let old = goods(false, Goods { best_before: Some(DAY - Duration::DAY), ..Goods::default() });
        let today = goods(false, Goods { best_before: Some(DAY), ..Goods::default() });
        assert_eq!(fails(&today), [""; 0]);
        let found = failed(&old, &at(&Checks::usual(UnitSystem::Metric)));
        let refusal =
            answer(Answer::Received, "smells fine".into(), found.clone(), true, &SAY).expect_err("held");
        assert_eq!(refusal.field, "answer");
        assert!(answer(Answer::OnHold, String::new(), found, false, &SAY).is_ok());
    }

    #[test]
    fn a_failed_check_is_accepted_only_by_who_may_and_only_with_a_reason() {
        let warm = vec![Failed::TooWarm { measured: Celsius::hundredths(620), most: Celsius::whole(4) }];
        let take = |reason: &str, may| answer(Answer::Received, reason.into(), warm.clone(), may, &SAY);
        assert_eq!(take("core is cold", false).expect_err("not theirs").field, "answer");
        assert_eq!(take("", true).expect_err("no reason").field, "reason");
        let accepted = take("core is cold", true).expect("accepted");
        assert_eq!((accepted.failed, accepted.reason.as_str()), (warm, "core is cold"));
    }

    #[test]
    fn a_hold_and_a_refusal_have_a_reason_and_a_failed_check_is_one() {
        for held in [Answer::OnHold, Answer::Refused] {
            assert_eq!(answer(held, String::new(), vec![], true, &SAY).expect_err("why?").field, "reason");
            let answered = answer(held, String::new(), vec![Failed::NoDocket], false, &SAY).expect("held");
            assert_eq!(answered.reason, "it came without a docket number");
            assert!(answer(held, "box is torn".into(), vec![], false, &SAY).is_ok());
        }
    }

    #[test]
    fn a_line_of_more_than_two_tonnes_is_a_slip() {
        let heavy = |grams| plausible(&Brought { weight: grams, ..meat(Form::Carcass) }, DAY, "");
        assert!(heavy(Grams::whole(2_000_000)).is_ok());
        let errors = heavy(Grams::new(dec!(2_000_000.01))).expect_err("too heavy");
        assert!(errors.of("weight").is_some());
    }

    #[test]
    fn slaughter_is_neither_to_come_nor_long_ago_without_a_word() {
        let on = |day, note| plausible(&animal(|a| a.slaughtered = Some(day)), DAY, note);
        assert!(on(DAY, "").is_ok());
        assert!(on(DAY + Duration::DAY, "ordered").is_err());
        assert!(on(DAY - Duration::days(60), "").is_ok());
        assert!(on(DAY - Duration::days(61), "").is_err());
        assert!(on(DAY - Duration::days(61), "dry aged on the bone").is_ok());
    }

    #[test]
    fn a_cure_states_its_strength_and_what_states_one_is_a_cure() {
        let strong = |nitrite, nitrate| Goods {
            nitrite: Some(Percent::new(nitrite)),
            nitrate: Some(Percent::new(nitrate)),
            ..Goods::default()
        };
        let says = |brought: &Brought, field| {
            plausible(brought, DAY, "").err().and_then(|e| e.of(field).map(str::len))
        };
        assert!(says(&goods(true, Goods::default()), "nitrite").is_some());
        assert!(says(&goods(true, strong(dec!(0), dec!(0))), "nitrite").is_some());
        assert!(plausible(&goods(true, strong(dec!(6.25), dec!(4))), DAY, "").is_ok());
        assert!(says(&goods(false, strong(dec!(6.25), dec!(0))), "cure").is_some());
        assert!(says(&goods(true, strong(dec!(60), dec!(41))), "nitrite").is_some());
    }

    #[test]
    fn a_sack_whose_earlier_lots_were_a_cure_is_not_taken_in_as_plain_salt() {
        let checks = Checks::usual(UnitSystem::Metric);
        let door = Door { cure_before: true, ..at(&checks) };
        assert_eq!(failed(&goods(false, Goods::default()), &door), [Failed::NoStrength]);
    }
}
