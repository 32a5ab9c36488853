use proptest::prelude::*;
use rust_decimal::dec;
use time::macros::datetime;

use super::*;

const START: OffsetDateTime = datetime!(2026-11-02 08:00 UTC);

fn log(minutes_to: i64, gap_hours: i64, samples: &[(i64, i32)]) -> Log {
    let at = |minutes| START + Duration::minutes(minutes);
    let samples = samples
        .iter()
        .map(|(minutes, hundredths)| Sample { at: at(*minutes), value: Celsius::hundredths(*hundredths) })
        .collect();
    Log::new(START, at(minutes_to), samples, Duration::hours(gap_hours))
}

#[test]
fn a_door_left_open_counts_from_where_the_line_crosses_the_limit() {
    // 4 °C, up to 8 °C in an hour, down to 4 °C in the next: above 5 °C for three quarters of both.
    let cold = log(120, 24, &[(0, 400), (60, 800), (120, 400)]);
    let beyond = cold.beyond(Side::Above, Celsius::whole(5)).unwrap();
    assert_eq!(beyond.minutes, dec!(90));
    assert_eq!((beyond.longest, beyond.within, beyond.longest_within), (dec!(90), dec!(30), dec!(15)));
    assert_eq!(cold.warmest().unwrap().value, Celsius::whole(8));
}

#[test]
fn exactly_at_the_limit_is_within_it_and_a_hundredth_more_is_not() {
    let limit = Celsius::whole(5);
    assert_eq!(log(60, 24, &[(0, 500), (60, 500)]).beyond(Side::Above, limit).unwrap().minutes, dec!(0));
    assert_eq!(log(60, 24, &[(0, 501), (60, 501)]).beyond(Side::Above, limit).unwrap().minutes, dec!(60));
    assert_eq!(log(60, 24, &[(0, 500), (60, 500)]).beyond(Side::Below, limit).unwrap().minutes, dec!(0));
    assert_eq!(log(60, 24, &[(0, 499), (60, 499)]).beyond(Side::Below, limit).unwrap().minutes, dec!(60));
}

#[test]
fn a_gap_was_as_warm_as_the_warmer_reading_beside_it() {
    // 26 h without a reading: nobody knows when it became warm, so all of it counts.
    let cold = log(1_560, 24, &[(0, 300), (1_560, 600)]);
    assert_eq!(cold.beyond(Side::Above, Celsius::whole(5)).unwrap().minutes, dec!(1560));
    let gap = cold.longest_gap().unwrap();
    assert_eq!((gap.from, gap.hours(), gap.words()), (START, 26, "26 h".into()));
    let longer = Gap { from: START, to: START + Duration::minutes(1_470) };
    assert_eq!(longer.words(), "24 h 30 min");
    // Exactly 24 h is not a gap.
    let cold = log(1_440, 24, &[(0, 300), (1_440, 600)]);
    assert_eq!(cold.longest_gap(), None);
    assert_eq!(cold.beyond(Side::Above, Celsius::whole(5)).unwrap().minutes, dec!(480));
    // Below a limit, the colder one is the worse.
    let warm = log(1_560, 24, &[(0, 300), (1_560, 900)]);
    assert_eq!(warm.at_least(Celsius::whole(5)), Some(dec!(0)));
}

#[test]
fn before_the_first_and_after_the_last_reading_it_was_as_they_say() {
    let cold = log(600, 2, &[(200, 600), (300, 600), (400, 300)]);
    let beyond = cold.beyond(Side::Above, Celsius::whole(5)).unwrap();
    // 200 before, 100 between, a third of 100 on the way down.
    assert_eq!(beyond.minutes.round_dp(6), dec!(333.333333));
    assert_eq!(cold.gaps().len(), 2);
    assert_eq!(cold.coldest().unwrap().value, Celsius::whole(3));
}

#[test]
fn nothing_measured_says_nothing_and_is_one_gap() {
    let nothing = log(3_000, 24, &[]);
    assert_eq!(nothing.beyond(Side::Above, Celsius::whole(5)), None);
    assert_eq!(nothing.longest_gap().map(Gap::hours), Some(50));
    // A reading outside the span is none.
    assert_eq!(log(60, 24, &[(-1, 100), (61, 100)]).samples(), []);
    assert_eq!(log(-60, 24, &[]).minutes(), dec!(0));
}

proptest! {
    #[test]
    fn what_is_beyond_and_what_is_within_make_up_the_span(
        values in prop::collection::vec((1_i64..2_000, -3_000_i32..3_000), 1..40),
        limit in -2_000_i32..2_000,
        gap in 1_i64..40,
        rest in 0_i64..3_000,
    ) {
        let mut at = 0;
        let samples: Vec<_> = values.iter().map(|(step, value)| { at += step; (at, *value) }).collect();
        let log = log(at + rest, gap, &samples);
        for side in [Side::Above, Side::Below] {
            let beyond = log.beyond(side, Celsius::hundredths(limit)).unwrap();
            let sum = beyond.minutes + beyond.within;
            prop_assert_eq!(sum.round_dp(9), log.minutes().round_dp(9));
            prop_assert!(beyond.longest <= beyond.minutes && beyond.longest_within <= beyond.within);
            prop_assert!(beyond.minutes >= Decimal::ZERO && beyond.within >= Decimal::ZERO);
        }
    }

    #[test]
    fn a_stricter_limit_is_never_passed_for_a_shorter_time(
        values in prop::collection::vec((1_i64..600, -500_i32..1_500), 1..30),
        limit in 0_i32..1_000,
        stricter in 0_i32..300,
    ) {
        let mut at = 0;
        let samples: Vec<_> = values.iter().map(|(step, value)| { at += step; (at, *value) }).collect();
        let log = log(at, 6, &samples);
        let loose = log.beyond(Side::Above, Celsius::hundredths(limit)).unwrap();
        let strict = log.beyond(Side::Above, Celsius::hundredths(limit - stricter)).unwrap();
        prop_assert!(strict.minutes.round_dp(9) >= loose.minutes.round_dp(9));
    }
}
