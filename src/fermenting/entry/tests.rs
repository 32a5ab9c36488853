use rust_decimal::dec;
use time::macros::datetime;
use uuid::Uuid;

use super::*;
use crate::ids::{DeviationId, LotId};
use crate::measure::UnitSystem;

fn judged(outcome: Outcome) -> FermentationJudged {
    let lots = vec![Named::new(LotId(Uuid::from_u128(4)), "26328-01.01")];
    let opened = Opened { deviation: DeviationId(Uuid::from_u128(3)), what: "over".into(), lots };
    FermentationJudged {
        batch: Named::new(BatchId(Uuid::from_u128(1)), "26328-01"),
        rules: Rules::Canada,
        method: Method::Formula,
        edge: Edge::AtMost,
        largest_gap: 6,
        from: datetime!(2026-11-24 09:00 UTC),
        until: datetime!(2026-11-26 16:00 UTC),
        ph: None,
        degree_hours: dec!(776),
        hours_above: dec!(40),
        highest: dec!(35),
        figure: dec!(776),
        limit: dec!(555),
        band: "33 to 37 °C".into(),
        temperatures: vec![ReadHere {
            place: Named::new(PlaceId(Uuid::from_u128(2)), "cabinet"),
            from: datetime!(2026-11-24 09:00 UTC),
            to: datetime!(2026-11-26 16:00 UTC),
            readings: vec![Seq(12), Seq(14)],
            samples: 0,
        }],
        hours_in_gaps: dec!(0),
        outcome,
        deviation: (outcome == Outcome::Over).then_some(opened),
    }
}

fn adopted(rules: Rules, method: Method, largest_gap: u16) -> FermentationRuleAdopted {
    FermentationRuleAdopted { rules, method, edge: Edge::AtMost, largest_gap, source: String::new() }
}

#[test]
fn over_the_limit_it_holds_the_lots_and_says_so() {
    let over = judged(Outcome::Over);
    let effects = Entry::effects(&over);
    assert_eq!(effects.holds, [(LotId(Uuid::from_u128(4)), "over".to_owned())]);
    let line = over.line(&Say { system: UnitSystem::Metric });
    assert_eq!((line.alarm, line.figure.as_str()), (Some("over the limit"), "776 of 555\u{a0}°C-hours"));
    assert!(line.why.contains("1 lot on hold"), "{}", line.why);
}

#[test]
fn within_the_limit_it_holds_nothing() {
    let met = judged(Outcome::Met);
    assert!(Entry::effects(&met).holds.is_empty());
    assert_eq!(met.line(&Say { system: UnitSystem::Us }).alarm, None);
}

#[test]
fn a_judgement_reads_back_from_its_body() {
    for outcome in [Outcome::Over, Outcome::Met, Outcome::Within] {
        let body = serde_json::to_string(&judged(outcome)).expect("a body");
        assert_eq!(serde_json::from_str::<FermentationJudged>(&body).expect("reads back"), judged(outcome));
        assert!(body.contains(r#""degree_hours":"776""#), "{body}");
    }
}

#[test]
fn a_printed_table_is_adopted_only_where_there_is_one() {
    assert!(adopt(adopted(Rules::UnitedStates, Method::Printed, 6)).is_ok());
    assert_eq!(adopt(adopted(Rules::Canada, Method::Printed, 6)).expect_err("no table").field, "method");
    assert_eq!(adopt(adopted(Rules::Canada, Method::Formula, 0)).expect_err("no gap").field, "largest_gap");
}

#[test]
fn a_figure_just_past_a_limit_does_not_print_like_the_limit() {
    assert_eq!(figure(dec!(1200)), "1,200");
    assert_eq!(against(dec!(1200.003), dec!(1200)), "1,200.003");
    assert_eq!(against(dec!(1200), dec!(1200)), "1,200");
    assert_eq!(figure(dec!(376.986)), "377");
    assert_eq!(figure(dec!(1204.55)), "1,204.6");
    assert_eq!(figure(dec!(-20.5)), "\u{2212}20.5");
    assert_eq!(figure(dec!(70.744680)), "70.7");
}

#[test]
fn what_was_adopted_says_all_of_it() {
    let words = adopted(Rules::UnitedStates, Method::Printed, 4).adopted().words();
    assert_eq!(
        words,
        "United States, the printed table of hours, at most the limit, gaps over 4\u{a0}h at the higher reading"
    );
}
