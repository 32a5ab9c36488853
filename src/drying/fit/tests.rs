#![allow(clippy::float_cmp, reason = "an index is compared, and figures that are set")]
use super::*;

fn track(points: &[(f64, f64)]) -> Track {
    points.iter().map(|(days, loss)| Point { days: *days, loss: *loss }).collect()
}

fn along(curve: Curve, days: &[f64]) -> Track {
    days.iter().map(|days| Point { days: *days, loss: curve.at(*days) }).collect()
}

const WEEKS: [f64; 6] = [7.0, 14.0, 21.0, 28.0, 35.0, 42.0];

#[test]
fn a_curve_that_levels_off_is_found_again_from_its_own_points() {
    let told = Curve::Levels { most: 0.42, rate: 0.03 };
    let Some(Curve::Levels { most, rate }) = levels(&along(told, &WEEKS)) else { panic!("no fit") };
    assert!((most - 0.42).abs() < 1e-4 && (rate - 0.03).abs() < 1e-4, "{most} {rate}");
}

#[test]
fn a_power_is_found_again_from_its_own_points() {
    let told = Curve::Power { scale: 0.05, power: 0.5 };
    let Some(Curve::Power { scale, power }) = power(&along(told, &WEEKS)) else { panic!("no fit") };
    assert!((scale - 0.05).abs() < 1e-4 && (power - 0.5).abs() < 1e-4, "{scale} {power}");
}

#[test]
fn the_better_of_the_two_is_chosen_by_what_was_held_out() {
    let levelling = along(Curve::Levels { most: 0.40, rate: 0.05 }, &WEEKS);
    assert!(matches!(choose(&levelling, None).expect("fits").curve, Curve::Levels { .. }));
    let growing = along(Curve::Power { scale: 0.04, power: 0.6 }, &WEEKS);
    assert!(matches!(choose(&growing, None).expect("fits").curve, Curve::Power { .. }));
}

#[test]
fn two_weigh_ins_alone_are_too_few_and_an_earlier_batch_helps() {
    let young = track(&[(7.0, 0.11), (14.0, 0.18)]);
    assert_eq!(choose(&young, None), None);
    let earlier = pooled(&[along(Curve::Levels { most: 0.40, rate: 0.04 }, &WEEKS)]).expect("a curve");
    let fitted = choose(&young, Some(&earlier)).expect("fits");
    assert_eq!(fitted.from, From::Earlier);
    let none = choose(&[], Some(&earlier)).expect("fits");
    assert!(
        (none.curve.at(28.0) - earlier.at(28.0)).abs() < 1e-9,
        "without a weigh-in it is the earlier curve"
    );
}

#[test]
fn a_loss_beyond_where_it_levels_off_is_never_foretold() {
    let curve = Curve::Levels { most: 0.33, rate: 0.05 };
    assert_eq!(curve.reaches(0.33), None);
    assert_eq!(curve.reaches(0.35), None);
    let days = curve.reaches(0.30).expect("reached");
    assert!((curve.at(days) - 0.30).abs() < 1e-9);
    assert_eq!(Curve::Power { scale: 0.001, power: 0.15 }.reaches(0.5), None, "too far ahead to say");
}

#[test]
fn nothing_is_fitted_where_nothing_was_lost() {
    assert_eq!(levels(&track(&[(7.0, 0.0), (14.0, 0.0), (21.0, 0.0)])), None);
    assert_eq!(power(&track(&[(7.0, -0.02), (14.0, -0.01), (21.0, -0.02)])), None);
}

/// So many forecasts from `from` weigh-ins, of ten days to go, that took from a fifth of a day on in steps of one.
fn came(from: usize, count: u32) -> Vec<Past> {
    let one = |n: u32| Past { from, known: 10.0, foretold: 20.0, came: 10.0 + f64::from(n) / 5.0 };
    (1..=count).map(one).collect()
}

#[test]
fn the_spread_of_many_past_forecasts_holds_eight_of_ten_and_knows_their_middle() {
    let past = came(3, 99);
    let spread = spread(&past, 3);
    assert_eq!((spread.least, spread.middle, spread.most), (10.0 / 50.0, 50.0 / 50.0, 90.0 / 50.0));
    assert_eq!((spread.forecasts, spread.alike), (99, true));
    // The ends count as within.
    assert_eq!(past.iter().filter(|one| spread.holds(one)).count(), 81);
    assert_eq!(super::spread(&past[..9], 3).most, FIRST_GUESS.most);
}

#[test]
fn between_two_past_forecasts_the_spread_is_read_off_the_line() {
    // 0.1 × 15 is the place one and a half: between the first and the second.
    let spread = spread(&came(3, 14), 3);
    assert!((spread.least - 1.5 / 50.0).abs() < 1e-9, "{spread:?}");
    assert!((spread.most - 13.5 / 50.0).abs() < 1e-9, "{spread:?}");
}

#[test]
fn forecasts_from_as_many_weigh_ins_count_before_all_the_others() {
    let mut past = came(3, 20);
    past.extend(came(6, 12).into_iter().map(|one| Past { came: one.came + 10.0, ..one }));
    assert!(spread(&past, 6).least > 1.0 && spread(&past, 6).alike);
    assert!(spread(&past, 3).most < 1.0);
    let few = spread(&past, 5);
    assert_eq!((few.forecasts, few.alike), (32, false), "of five there are none, so all of them count");
}
