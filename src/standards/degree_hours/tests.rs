//! The rules of adding up, and that it does not hang on how often somebody reads. The published figures are in
//! `tests/it/published/fermentation.rs`.

use proptest::prelude::*;
use rust_decimal::{Decimal, dec};
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use super::*;

const STUFFED: OffsetDateTime = datetime!(2026-11-24 09:00 UTC);
const SIX: Duration = Duration::hours(6);

fn knot(minutes: i64, degrees: Decimal) -> Knot {
    Knot { at: STUFFED + Duration::minutes(minutes), degrees }
}

fn stay(hours: i64, knots: Vec<Knot>) -> Stay {
    Stay { from: STUFFED, to: STUFFED + Duration::hours(hours), knots }
}

fn summed(stay: Stay, gap: Duration, base: Decimal) -> Warmth {
    let (segments, unread) = along(&[stay], gap);
    assert!(unread.is_empty());
    warmth(&segments, base).expect("segments")
}

#[test]
fn between_two_readings_the_mean_of_the_two_counts() {
    let rise = stay(4, vec![knot(0, dec!(20)), knot(240, dec!(26))]);
    // Mean 23 °C, 7.4 above, 4 h.
    assert_eq!(summed(rise, SIX, CANADA.base).degree_hours, dec!(29.6));
}

#[test]
fn what_lies_below_the_critical_temperature_is_cut_off_where_the_line_crosses_it() {
    // 50 to 70 °F in 4 h: above 60 for the last two, with a mean of 5.
    let rise = stay(4, vec![knot(0, dec!(50)), knot(240, dec!(70))]);
    let summed = summed(rise, SIX, UNITED_STATES.base);
    assert_eq!((summed.degree_hours, summed.hours_above, summed.highest), (dec!(10), dec!(2), dec!(70)));
}

#[test]
fn a_cold_step_adds_nothing_and_takes_nothing_away() {
    let cold = stay(12, vec![knot(0, dec!(55)), knot(360, dec!(60)), knot(720, dec!(40))]);
    let none = summed(cold, SIX, UNITED_STATES.base);
    assert_eq!((none.degree_hours, none.hours_above), (Decimal::ZERO, Decimal::ZERO));
    let verdict = UNITED_STATES.judge(Method::Formula, Edge::LessThan, &none).expect("a verdict");
    assert!(!verdict.over);
}

#[test]
fn the_first_reading_counts_back_to_the_stuffing_and_the_last_on_to_the_end() {
    let short = stay(6, vec![knot(60, dec!(25.6)), knot(300, dec!(25.6))]);
    assert_eq!(summed(short, SIX, CANADA.base).degree_hours, dec!(60));
}

#[test]
fn a_reading_just_before_the_stuffing_tells_of_its_beginning() {
    let knots = vec![knot(-60, dec!(19.6)), knot(60, dec!(21.6)), knot(180, dec!(21.6))];
    // 20.6 at the stuffing, 21.6 an hour later: 5.5 above in the mean, then 6.
    assert_eq!(summed(stay(3, knots), SIX, CANADA.base).degree_hours, dec!(17.5));
}

#[test]
fn in_a_gap_the_higher_reading_beside_it_counts_for_all_of_it() {
    let knots = vec![knot(0, dec!(25.6)), knot(6 * 60 + 1, dec!(20.6))];
    let (segments, _) = along(&[stay(6, knots.clone())], SIX);
    assert!(segments.iter().all(|segment| segment.gap));
    assert_eq!(warmth(&segments, CANADA.base).expect("segments").degree_hours, dec!(60));
    // Exactly the largest gap is none: the line between the two counts.
    let knots = vec![knot(0, dec!(25.6)), knot(6 * 60, dec!(20.6))];
    let (segments, _) = along(&[stay(6, knots)], SIX);
    assert!(segments.iter().all(|segment| !segment.gap));
    assert_eq!(warmth(&segments, CANADA.base).expect("segments").degree_hours, dec!(45));
}

#[test]
fn a_short_stay_that_nobody_read_takes_the_warmer_neighbour_and_a_long_one_stays_unknown() {
    let stays = |hours: i64| {
        let moved = STUFFED + Duration::hours(2);
        let back = moved + Duration::hours(hours);
        [
            Stay { from: STUFFED, to: moved, knots: vec![knot(0, dec!(20.6))] },
            Stay { from: moved, to: back, knots: vec![] },
            Stay {
                from: back,
                to: back + Duration::hours(1),
                knots: vec![Knot { at: back, degrees: dec!(25.6) }],
            },
        ]
    };
    let (segments, unread) = along(&stays(6), SIX);
    assert!(unread.is_empty());
    assert_eq!(warmth(&segments, CANADA.base).expect("segments").degree_hours, dec!(80));
    let (segments, unread) = along(&stays(7), SIX);
    assert_eq!((segments.len(), unread.len()), (2, 1));
}

#[test]
fn of_two_readings_at_one_moment_the_higher_counts() {
    let knots = vec![knot(0, dec!(20.6)), knot(0, dec!(25.6)), knot(60, dec!(25.6))];
    assert_eq!(summed(stay(1, knots), SIX, CANADA.base).degree_hours, dec!(10));
}

#[test]
fn without_a_reading_there_is_nothing_to_add_up() {
    let (segments, unread) = along(&[stay(3, vec![])], SIX);
    assert_eq!((warmth(&segments, CANADA.base), unread.len()), (None, 1));
}

#[test]
fn a_temperature_typed_in_fahrenheit_is_judged_as_it_was_typed() {
    // 80 °F is kept as 26.67 °C, which is 80.006 °F: sixty hours at it would be over 1,200.
    for (kept, fahrenheit) in [
        (dec!(26.67), dec!(80)),
        (dec!(32.22), dec!(90)),
        (dec!(37.78), dec!(100)),
        (dec!(37.83), dec!(100.1)),
        (dec!(15.56), dec!(60)),
        (dec!(26.6667), dec!(80)),
        // Typed in Celsius, converted exactly.
        (dec!(37.8), dec!(100.04)),
        (dec!(32.2), dec!(89.96)),
        (dec!(25), dec!(77)),
    ] {
        assert_eq!(Scale::Fahrenheit.of(kept), fahrenheit, "{kept}");
        assert_eq!(Scale::Celsius.of(kept), kept);
    }
}

#[test]
fn the_two_rule_sets_are_no_conversions_of_each_other() {
    // 91 °F is 32.8 °C: the middle band in the one, the lower in the other.
    assert_eq!(UNITED_STATES.band(dec!(91)).limit, dec!(1000));
    assert_eq!(CANADA.band(dec!(32.8)).limit, dec!(665));
}

#[test]
fn the_printed_table_takes_the_next_higher_temperature_and_ends() {
    assert_eq!(UNITED_STATES.listed(dec!(80)), Some((dec!(80), dec!(60))));
    assert_eq!(UNITED_STATES.listed(dec!(80.1)), Some((dec!(85), dec!(48))));
    assert_eq!(UNITED_STATES.listed(dec!(62)), Some((dec!(75), dec!(80))));
    assert_eq!(UNITED_STATES.listed(dec!(110.1)), None);
    let hot = Warmth { degree_hours: dec!(51), hours_above: dec!(1), highest: dec!(111) };
    assert_eq!(UNITED_STATES.judge(Method::Printed, Edge::AtMost, &hot), None);
    assert_eq!((CANADA.methods(), UNITED_STATES.methods().len()), (&[Method::Formula][..], 2));
}

#[test]
fn the_hours_left_are_those_of_the_band_that_the_present_temperature_brings() {
    let so_far = Warmth { degree_hours: dec!(400), hours_above: dec!(20), highest: dec!(80) };
    let left = |degrees| hours_left(&UNITED_STATES, Method::Formula, &so_far, degrees);
    assert_eq!(left(dec!(80)), Some(dec!(40)));
    assert_eq!(left(dec!(90)), Some(dec!(20)));
    assert_eq!(left(dec!(60)), None);
    assert_eq!(hours_left(&UNITED_STATES, Method::Printed, &so_far, dec!(80)), Some(dec!(40)));
    let over = Warmth { degree_hours: dec!(1300), ..so_far };
    assert_eq!(hours_left(&UNITED_STATES, Method::Formula, &over, dec!(80)), Some(Decimal::ZERO));
}

#[test]
fn a_schedule_of_nothing_is_refused() {
    assert!(schedule(&CANADA, &[]).is_err());
    assert!(schedule(&CANADA, &[Step { degrees: dec!(20), hours: dec!(0) }]).is_err());
    assert!(constant(&CANADA, dec!(20), dec!(-1)).is_err());
    assert_eq!(may_take(&CANADA, dec!(15.6)), None);
}

#[test]
fn every_word_reads_back() {
    assert!(Rules::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
    assert!(Method::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
    assert!(Edge::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
}

/// Readings an hour apart, in tenths of a degree around the critical temperature of 15.6 °C.
fn readings() -> impl Strategy<Value = Vec<i64>> {
    prop::collection::vec(100_i64..450, 2..30)
}

fn hourly(tenths: &[i64]) -> Vec<Knot> {
    (0..).zip(tenths).map(|(hour, tenths)| knot(hour * 60, Decimal::new(*tenths, 1))).collect()
}

fn hours(tenths: &[i64]) -> i64 {
    i64::try_from(tenths.len()).unwrap() - 1
}

proptest! {
    #[test]
    fn reading_more_often_on_the_same_line_changes_nothing(tenths in readings(), parts in 2_i64..7) {
        let knots = hourly(&tenths);
        let mut finer = knots.clone();
        for pair in knots.windows(2) {
            // Parts of an hour that are whole minutes, and tenths times sixtieths that are exact decimals.
            let parts = [2, 4, 5, 10, 12, 20, 30][usize::try_from(parts).unwrap()];
            for n in 1..parts {
                let at = pair[0].at + Duration::minutes(60 / parts * n);
                let line = Segment { from: pair[0].at, to: pair[1].at, first: pair[0].degrees, last: pair[1].degrees, gap: false };
                finer.push(Knot { at, degrees: line.at(at) });
            }
        }
        let one = summed(stay(hours(&tenths), knots), SIX, CANADA.base);
        let other = summed(stay(hours(&tenths), finer), SIX, CANADA.base);
        prop_assert_eq!(one, other);
    }

    #[test]
    fn cutting_a_run_in_two_changes_nothing(tenths in readings(), minute in 1_i64..60) {
        let knots = hourly(&tenths);
        let whole = stay(hours(&tenths), knots.clone());
        let cut = STUFFED + Duration::minutes(minute);
        let halves = [
            Stay { from: STUFFED, to: cut, knots: knots.clone() },
            Stay { from: cut, to: whole.to, knots },
        ];
        let (segments, _) = along(&halves, SIX);
        let both = warmth(&segments, CANADA.base).unwrap();
        prop_assert_eq!(both, summed(whole, SIX, CANADA.base));
    }

    #[test]
    fn degree_hours_are_never_less_than_nothing_and_never_fall(tenths in readings()) {
        let mut before = Decimal::ZERO;
        for minutes in (10..=hours(&tenths) * 60).step_by(10) {
            let some = Stay { from: STUFFED, to: STUFFED + Duration::minutes(minutes), knots: hourly(&tenths) };
            let now = summed(some, SIX, CANADA.base).degree_hours;
            prop_assert!(now >= before);
            before = now;
        }
    }

    #[test]
    fn what_is_at_or_below_the_critical_temperature_adds_nothing(tenths in prop::collection::vec(-200_i64..=156, 2..30)) {
        let none = summed(stay(hours(&tenths), hourly(&tenths)), SIX, CANADA.base);
        prop_assert_eq!((none.degree_hours, none.hours_above), (Decimal::ZERO, Decimal::ZERO));
    }

    #[test]
    fn a_schedule_is_the_sum_of_its_steps_however_they_are_split(degrees in 100_i64..450, hours in 1_i64..100, first in 0_i64..100) {
        let (degrees, hours) = (Decimal::new(degrees, 1), Decimal::from(hours));
        let first = (Decimal::from(first)).min(hours);
        let step = |hours| Step { degrees, hours };
        let split = schedule(&CANADA, &[step(first), step(hours - first)]).unwrap();
        prop_assert_eq!(split.degree_hours, constant(&CANADA, degrees, hours).unwrap());
    }
}
