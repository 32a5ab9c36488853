//! How criteria stand at, before and past their limits; who loosens, who reviews; and that nothing is released while any
//! criterion is not met.

use std::collections::BTreeMap;

use proptest::prelude::*;
use rust_decimal::Decimal;
use time::macros::datetime;
use uuid::Uuid;

use super::criterion::{Asks, Criterion, Rule};
use super::family::{FamilyWritten, Grounds, Shipped, shipped, write};
use super::judge::{Ccp, Checked, Evidence, Measured, Open, PieceKnown, Reviewed, Stood, judge};
use super::release::release;
use super::review::{RecordsReviewed, Reviewing, review};
use crate::batches::entry::{PiecesReleased, ReleasedPiece};
use crate::book::{Entry, Say, Seq};
use crate::checks::Value;
use crate::evidence::Found;
use crate::ids::{BatchId, LotId, Named, PersonId, ReviewId};
use crate::measure::{Grams, Percent, Ph, Ratio, UnitSystem, WaterActivity};

fn lot(n: u8) -> LotId {
    LotId(Uuid::from_u128(u128::from(n)))
}

fn piece(n: u8, last: i64) -> PieceKnown {
    PieceKnown {
        lot: lot(n),
        code: format!("26328-06.0{n}"),
        green: Grams::whole(1_000),
        last: Some((Grams::whole(last), Seq(10 + i64::from(n)))),
        here: true,
        held: None,
    }
}

fn aw(n: u8, thousandths: u16) -> Measured {
    Measured {
        seq: Seq(20 + i64::from(n)),
        lot: Some(lot(n)),
        value: Value::WaterActivity(WaterActivity::thousandths(thousandths)),
        at: datetime!(2026-11-24 09:00 UTC),
    }
}

fn ph(hundredths: u16) -> Measured {
    Measured {
        seq: Seq(30),
        lot: None,
        value: Value::Ph(Ph::hundredths(hundredths)),
        at: datetime!(2026-11-20 09:00 UTC),
    }
}

/// Three pieces that have lost 36, 35 and 34 %, measured, reviewed, with nothing open.
fn whole() -> Evidence {
    Evidence {
        given: BTreeMap::new(),
        readings: vec![aw(1, 840), aw(2, 845), aw(3, 850), ph(490)],
        deviations: vec![],
        ccps: vec![Ccp {
            words: "pH at the end".into(),
            checks: vec![Checked { seq: Seq(30), met: true, closed: None }],
        }],
        review: Reviewed::Stands { seq: Seq(40), upto: Seq(39), initials: "RE".into(), alone: false },
        pieces: vec![piece(1, 640), piece(2, 650), piece(3, 660)],
        ferments: false,
    }
}

fn found(rule: Rule, evidence: &Evidence, n: u8) -> Found {
    let criterion = Criterion { rule, source: String::new() };
    judge(&[criterion], evidence)[0].of_piece(lot(n)).cloned().expect("a piece of it")
}

fn is_met(rule: Rule, evidence: &Evidence) -> bool {
    found(rule, evidence, 1).is_met()
}

fn family(key: &str) -> FamilyWritten {
    of_key(key).taken_up()
}

fn of_key(key: &str) -> Shipped {
    shipped().expect("they read").into_iter().find(|one| one.key == key).expect("it is shipped")
}

#[test]
fn every_shipped_family_reads_names_its_sources_and_says_what_it_asks() {
    let all = shipped().expect("they read");
    assert_eq!(all.len(), 6);
    for one in &all {
        assert!(one.criteria.iter().all(|criterion| !criterion.source.is_empty()), "{}", one.name);
        let written = write(one.taken_up(), one, None, &Grounds::default()).expect("it stands as shipped");
        assert!(written.loosened.is_empty());
        assert_eq!(one.taken_up().asks_review(), one.key != "raw cut", "{}", one.name);
        let body = serde_json::to_string(&written).expect("a body");
        assert_eq!(serde_json::from_str::<FamilyWritten>(&body).expect("reads back"), written);
    }
}

#[test]
fn a_loss_is_met_at_its_figure_and_not_one_hundredth_of_a_gram_before_it() {
    let least = Percent::new(Decimal::from(35));
    let at = |grams: &str| {
        let last = Grams::new(grams.parse().expect("grams"));
        Evidence { pieces: vec![PieceKnown { last: Some((last, Seq(11))), ..piece(1, 0) }], ..whole() }
    };
    assert!(is_met(Rule::LossAtLeast { least }, &at("650")));
    assert!(!is_met(Rule::LossAtLeast { least }, &at("650.01")));
    let never = Evidence { pieces: vec![PieceKnown { last: None, ..piece(1, 0) }], ..whole() };
    assert!(
        !is_met(Rule::LossAtLeast { least: Percent::ZERO }, &never),
        "only a weigh-in says what was lost"
    );
}

#[test]
fn a_ph_is_met_at_its_figure_and_the_latest_counts() {
    let most = Rule::PhAtMost { most: Ph::hundredths(530) };
    let with = |readings: Vec<Measured>| Evidence { readings, ..whole() };
    assert!(is_met(most, &with(vec![ph(530)])));
    assert!(matches!(found(most, &with(vec![ph(531)]), 1), Found::Failed { .. }));
    let ferments = Evidence { ferments: true, ..with(vec![ph(531)]) };
    assert!(matches!(found(most, &ferments, 1), Found::NotYet { .. }));
    let later = Measured { at: datetime!(2026-11-21 09:00 UTC), seq: Seq(31), ..ph(540) };
    assert!(!is_met(most, &with(vec![ph(500), later])));
    assert!(!is_met(most, &with(vec![])));
    // Of another piece it says nothing.
    let other = Measured { lot: Some(lot(2)), ..ph(500) };
    assert!(!is_met(most, &with(vec![other])));
}

#[test]
fn water_activity_counts_for_the_piece_that_it_was_measured_on() {
    let each = Rule::WaterActivityAtMost { most: WaterActivity::thousandths(850), pieces: None };
    let evidence = Evidence { readings: vec![aw(1, 850)], ..whole() };
    assert!(found(each, &evidence, 1).is_met());
    assert!(!found(each, &evidence, 2).is_met());
    assert!(!found(each, &Evidence { readings: vec![aw(1, 851)], ..whole() }, 1).is_met());
    // A reading that names the batch only says nothing of any piece.
    let of_batch = Measured { lot: None, ..aw(1, 800) };
    assert!(!found(each, &Evidence { readings: vec![of_batch], ..whole() }, 1).is_met());
}

#[test]
fn a_sample_counts_for_all_when_the_wettest_is_in_it_and_its_highest_is_met() {
    let two = Rule::WaterActivityAtMost { most: WaterActivity::thousandths(850), pieces: Some(2) };
    let with = |readings: Vec<Measured>| Evidence { readings, ..whole() };
    // The third has lost the least.
    assert!(!found(two, &with(vec![aw(1, 840), aw(2, 840)]), 1).is_met());
    assert!(found(two, &with(vec![aw(1, 840), aw(3, 850)]), 2).is_met());
    assert!(!found(two, &with(vec![aw(1, 840), aw(3, 851)]), 1).is_met(), "its highest is past the limit");
    assert!(!found(two, &with(vec![aw(3, 840)]), 3).is_met(), "one is not two");
    let unknown =
        Evidence { pieces: vec![piece(1, 640), PieceKnown { last: None, ..piece(2, 0) }], ..whole() };
    let one = Rule::WaterActivityAtMost { most: WaterActivity::thousandths(850), pieces: Some(1) };
    assert!(!found(one, &Evidence { readings: vec![aw(1, 840)], ..unknown }, 1).is_met());
}

#[test]
fn shelf_stable_is_read_off_table_b_with_the_column_above_5_0_where_no_ph_is_known() {
    let rule = Rule::ShelfStable { pieces: None };
    let with = |aw_: u16, ph_: Option<u16>| {
        let mut readings = vec![aw(1, aw_)];
        readings.extend(ph_.map(ph));
        Evidence { readings, ..whole() }
    };
    assert!(is_met(rule, &with(879, None)));
    assert!(!is_met(rule, &with(880, None)));
    assert!(is_met(rule, &with(900, Some(500))));
    assert!(!is_met(rule, &with(900, Some(501))));
}

#[test]
fn moisture_to_protein_is_met_at_its_figure() {
    let rule = Rule::MoistureToProteinAtMost { most: Ratio::hundredths(190) };
    let of = |ratio: u16| Measured { value: Value::MoistureToProtein(Ratio::hundredths(ratio)), ..ph(0) };
    let with = |ratio| Evidence { readings: vec![of(ratio)], ..whole() };
    assert!(is_met(rule, &with(190)));
    assert!(!is_met(rule, &with(191)));
    assert!(!is_met(rule, &whole()));
}

#[test]
fn a_deviation_concerns_its_pieces_or_the_whole_batch() {
    let open = |of_batch, lots| Open { seq: Seq(50), what: "core at 9 °C".into(), of_batch, lots };
    let one = Evidence { deviations: vec![open(false, vec![lot(2)])], ..whole() };
    assert!(found(Rule::NoOpenDeviation, &one, 1).is_met());
    assert!(matches!(found(Rule::NoOpenDeviation, &one, 2), Found::Failed { .. }));
    let all = Evidence { deviations: vec![open(true, vec![])], ..whole() };
    assert!(!found(Rule::NoOpenDeviation, &all, 1).is_met());
}

#[test]
fn a_limit_without_a_check_or_with_an_open_deviation_is_not_recorded() {
    let with = |met, closed| {
        let checks = vec![Checked { seq: Seq(30), met, closed }];
        Evidence { ccps: vec![Ccp { words: "pH at the end".into(), checks }], ..whole() }
    };
    assert!(is_met(Rule::CcpsRecorded, &with(true, None)));
    assert!(!is_met(Rule::CcpsRecorded, &with(false, None)));
    // By the check and by the line that closed its deviation: the release rests on both.
    let closed = found(Rule::CcpsRecorded, &with(false, Some(Seq(33))), 1);
    assert_eq!(closed, Found::met("1 limit for its stages, with its check", vec![Seq(30), Seq(33)]));
    let none = Evidence { ccps: vec![Ccp { words: "pH at the end".into(), checks: vec![] }], ..whole() };
    assert!(!is_met(Rule::CcpsRecorded, &none));
}

#[test]
fn a_review_after_which_a_line_came_no_longer_counts() {
    let stale = Reviewed::Stale { seq: Seq(40), changed_by: Seq(44) };
    assert!(is_met(Rule::RecordsReviewed, &whole()));
    assert!(!is_met(Rule::RecordsReviewed, &Evidence { review: stale, ..whole() }));
    assert!(!is_met(Rule::RecordsReviewed, &Evidence { review: Reviewed::Never, ..whole() }));
}

#[test]
fn a_shop_adds_and_tightens_as_it_likes_and_loosens_with_a_reason_and_a_document() {
    let from = of_key("whole muscle, shelf stable");
    let set = |asks: Asks, rule: Option<Rule>| {
        let mut family = from.taken_up();
        family.criteria.retain(|criterion| criterion.rule.asks() != asks);
        family.criteria.extend(rule.map(|rule| Criterion { rule, source: "ours".into() }));
        family
    };
    let at = |thousandths, pieces| {
        Some(Rule::WaterActivityAtMost { most: WaterActivity::thousandths(thousandths), pieces })
    };
    let none = Grounds::default();
    assert!(write(set(Asks::WaterActivity, at(849, Some(3))), &from, None, &none).is_ok());
    assert!(
        write(set(Asks::WaterActivity, at(850, None)), &from, None, &none).is_ok(),
        "each is more than 3"
    );
    assert!(
        write(set(Asks::Ph, Some(Rule::PhAtMost { most: Ph::hundredths(560) })), &from, None, &none).is_ok()
    );
    for looser in [at(851, Some(3)), at(850, Some(2)), None] {
        let family = set(Asks::WaterActivity, looser);
        let errors = write(family.clone(), &from, None, &none).expect_err("refused");
        assert!(errors.of("reason").is_some() && errors.of("document").is_some());
        let grounds = Grounds { reason: "Validated".into(), document: "Letter of 3 March".into() };
        let written = write(family.clone(), &from, None, &grounds).expect("with its grounds");
        assert_eq!(written.loosened.len(), 1);
        let say = Say { system: UnitSystem::Metric };
        assert_eq!(written.line(&say).alarm, Some("loosened"));
        // Written again as it was, it keeps its grounds.
        let again = write(family, &from, Some(&written), &none).expect("known");
        assert_eq!(again.loosened, written.loosened);
    }
    let mut twice = from.taken_up();
    twice.criteria.extend(from.criteria.first().cloned());
    assert!(write(twice, &from, None, &none).is_err());
}

#[test]
fn a_review_is_signed_by_somebody_who_made_none_of_the_records_unless_there_is_nobody_else() {
    let person = |n| PersonId(Uuid::from_u128(n));
    let reviewed = RecordsReviewed {
        review: ReviewId(Uuid::from_u128(1)),
        batch: BatchId(Uuid::from_u128(2)),
        code: "26328-06".parse().expect("a code"),
        upto: Seq(39),
        alone: false,
        note: String::new(),
    };
    let who = |people, made_by: Vec<PersonId>| Reviewing { reviewer: person(1), made_by, people };
    let alone = |people, made_by| review(reviewed.clone(), &who(people, made_by)).map(|signed| signed.alone);
    assert_eq!(alone(2, vec![person(2)]), Ok(false));
    assert_eq!(alone(1, vec![person(1)]), Ok(true));
    assert!(alone(2, vec![person(1), person(2)]).is_err());
}

fn released(pieces: &[u8]) -> PiecesReleased {
    let piece = |n: &u8| ReleasedPiece {
        lot: Named::new(lot(*n), format!("26328-06.0{n}")),
        green: Grams::whole(1_000),
        weight: Grams::whole(640),
    };
    PiecesReleased {
        batch: BatchId(Uuid::from_u128(2)),
        code: "26328-06".parse().expect("a code"),
        pieces: pieces.iter().map(piece).collect(),
        note: String::new(),
        shown: None,
    }
}

/// Every rule there is, each with a figure that the whole evidence meets.
fn every_rule() -> FamilyWritten {
    let rules = [
        Rule::PhAtMost { most: Ph::hundredths(530) },
        Rule::LossAtLeast { least: Percent::new(Decimal::from(30)) },
        Rule::WaterActivityAtMost { most: WaterActivity::thousandths(850), pieces: Some(3) },
        Rule::ShelfStable { pieces: Some(3) },
        Rule::NoOpenDeviation,
        Rule::NothingOnHold,
        Rule::CcpsRecorded,
        Rule::RecordsReviewed,
    ];
    let criteria = rules.into_iter().map(|rule| Criterion { rule, source: "here".into() }).collect();
    FamilyWritten { criteria, ..family("fermented, dry") }
}

fn try_release(evidence: &Evidence) -> Result<PiecesReleased, crate::error::Errors> {
    let family = every_rule();
    let stood: Vec<Stood> = judge(&family.criteria, evidence);
    let review = matches!(evidence.review, Reviewed::Stands { .. }).then(|| ReviewId(Uuid::from_u128(9)));
    release(released(&[1, 2, 3]), &family, 1, &stood, review)
}

#[test]
fn with_everything_met_the_entry_keeps_each_criterion_its_figure_and_its_lines() {
    let kept = try_release(&whole()).expect("every criterion is met");
    let shown = kept.shown.as_ref().expect("what it rested on");
    // Six are looked at on each of three pieces, two on the batch as a whole.
    assert_eq!(shown.met.len(), 6 * 3 + 2);
    let aw = shown.met.iter().find(|met| met.criterion.starts_with("Water activity, measured")).expect("aw");
    assert_eq!((aw.figure.as_str(), aw.by.as_slice()), ("aw 0.850", [Seq(21), Seq(22), Seq(23)].as_slice()));
    let effects = Entry::effects(&kept);
    assert!(effects.about.iter().any(|(subject, _)| *subject == Uuid::from_u128(9)), "it names its review");
    let body = serde_json::to_string(&kept).expect("a body");
    assert_eq!(serde_json::from_str::<PiecesReleased>(&body).expect("reads back"), kept);
}

#[test]
fn a_piece_whose_criterion_is_not_met_is_named_with_it() {
    let held = Some(("a torn casing".to_owned(), Seq(60)));
    let pieces = vec![piece(1, 640), PieceKnown { held, ..piece(2, 650) }, piece(3, 660)];
    let errors = try_release(&Evidence { pieces, ..whole() }).expect_err("refused");
    let [only] = errors.list() else { panic!("{errors:?}") };
    assert!(only.message.starts_with("26328-06.02: Nothing on hold is not met."), "{}", only.message);
}

#[test]
fn a_criterion_that_was_not_looked_at_releases_nothing() {
    let family = every_rule();
    let stood = judge(&family.criteria[1..], &whole());
    assert!(release(released(&[1]), &family, 1, &stood, Some(ReviewId(Uuid::from_u128(9)))).is_err());
}

/// The evidence with what is not chosen taken out of it.
fn only(chosen: &[bool; 8]) -> Evidence {
    let mut evidence = whole();
    let [ph, weighed, first, third, no_deviation, no_hold, checked, reviewed] = *chosen;
    evidence.readings.retain(|reading| match reading.lot {
        None => ph,
        Some(of) if of == lot(1) => first,
        Some(of) if of == lot(3) => third,
        Some(_) => true,
    });
    if !weighed {
        evidence.pieces[1].last = None;
    }
    if !no_deviation {
        evidence.deviations.push(Open { seq: Seq(50), what: "open".into(), of_batch: true, lots: vec![] });
    }
    if !no_hold {
        evidence.pieces[0].held = Some(("held".into(), Seq(51)));
    }
    if !checked {
        evidence.ccps[0].checks.clear();
    }
    if !reviewed {
        evidence.review = Reviewed::Never;
    }
    evidence
}

proptest! {
    #[test]
    fn whatever_part_of_the_evidence_is_missing_nothing_is_released(chosen in any::<[bool; 8]>()) {
        prop_assert_eq!(try_release(&only(&chosen)).is_ok(), chosen.iter().all(|here| *here));
    }

    #[test]
    fn no_weight_and_no_reading_of_another_kind_stands_in_for_a_measured_water_activity(
        last in 1_i64..1_000, acid in 350_u16..700
    ) {
        // However far a forecast or a salt reckoning would go: without a meter on the pieces there is no release.
        let mut evidence = whole();
        evidence.readings = vec![ph(acid)];
        for piece in &mut evidence.pieces {
            piece.last = Some((Grams::whole(last), Seq(11)));
        }
        prop_assert!(try_release(&evidence).is_err());
    }
}
