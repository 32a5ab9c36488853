use proptest::prelude::*;
use rust_decimal::dec;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use super::*;
use crate::measure::{Celsius, Grams, Length, LengthUnit};
use crate::standards::cold::Sample;

const START: OffsetDateTime = datetime!(2026-01-05 08:00 UTC);

/// So many minutes at one temperature, in °F, read every hour.
fn flat(minutes: i64, degrees: i32) -> Log {
    steady(minutes, fahrenheit(degrees))
}

fn steady(minutes: i64, value: Celsius) -> Log {
    let end = START + Duration::minutes(minutes);
    let hours = (0..=minutes / 60).map(|hour| START + Duration::hours(hour)).chain([end]);
    let samples = hours.map(|at| Sample { at, value }).collect();
    Log::new(START, end, samples, Duration::hours(24))
}

fn days(days: i64, degrees: i32) -> Log {
    flat(days * 1_440, degrees)
}

fn inch(text: &str) -> Length {
    Length::of(text.parse().unwrap(), LengthUnit::Inch)
}

fn colder(value: Celsius) -> Celsius {
    Celsius::new(value.decimal() - dec!(0.01)).unwrap()
}

fn warmer(value: Celsius) -> Celsius {
    Celsius::new(value.decimal() + dec!(0.01)).unwrap()
}

/// A batter that meets methods 1 and 2 in a casing of 3½ in, but for its days.
fn salami(room: i64, in_all: i64) -> Sausage {
    Sausage {
        particle: Some(inch("0.75")),
        salt: Some(Grams::whole(3_330)),
        unstuffed: Some(Grams::whole(100_000)),
        dry: Some(Grams::whole(4_000)),
        diameter: Some(inch("3.5")),
        uncoated: true,
        drying: Some(days(room, 45)),
        since_cure: Some(days(in_all, 45)),
        ..Sausage::default()
    }
}

fn stood(method: Method, one: &Sausage) -> State {
    stands(&sausage(method, one))
}

#[test]
fn a_group_ends_exactly_at_its_thickness() {
    assert_eq!(Group::of(inch("6")), Some(Group::One));
    assert_eq!(Group::of(Length::new(dec!(152.4001))), Some(Group::Two));
    assert_eq!(Group::of(inch("27")), Some(Group::Two));
    assert_eq!(Group::of(Length::new(dec!(685.8001))), None);
}

#[test]
fn every_row_of_the_freezing_table_is_met_on_its_last_minute_and_at_its_own_temperature_only() {
    for row in TABLE_1 {
        for (thickness, group) in [("6", Group::One), ("7", Group::Two)] {
            let whole = i64::from(row.days(group)) * 1_440;
            let one = |minutes, value| {
                let log = steady(minutes, value);
                let freezing = Freezing {
                    thickness: Some(inch(thickness)),
                    before: Some(fahrenheit(40)),
                    came_frozen: false,
                    spaced: true,
                    log: Some(log),
                };
                stands(&freezer_freezing(&freezing))
            };
            assert_eq!(one(whole, fahrenheit(row.degrees)), State::Met, "{row:?}");
            assert_eq!(one(whole - 1, fahrenheit(row.degrees)), State::Missing, "{row:?}");
            assert_eq!(one(whole, warmer(fahrenheit(row.degrees))), State::Missing, "{row:?}");
        }
    }
}

#[test]
fn a_freezing_that_was_broken_counts_from_its_longest_stretch() {
    let mut samples: Vec<_> = (0..=30 * 24)
        .map(|hour| Sample { at: START + Duration::hours(hour), value: fahrenheit(-11) })
        .collect();
    // Thawed for an hour after nine days: 21 days less the way back are left of thirty.
    samples[9 * 24].value = fahrenheit(40);
    let log = Log::new(START, START + Duration::days(30), samples, Duration::hours(24));
    let freezing = Freezing {
        thickness: Some(inch("8")),
        came_frozen: true,
        spaced: true,
        log: Some(log),
        before: None,
    };
    let found = freezer_freezing(&freezing);
    assert_eq!(stands(&found), State::Met);
    assert!(found[3].found.starts_with("20.9 days"), "{}", found[3].found);
}

#[test]
fn what_froze_without_readings_or_too_thick_is_not_shown_to_be_frozen() {
    let log = Log::new(START, START + Duration::days(40), vec![], Duration::hours(24));
    let none = Freezing {
        thickness: Some(inch("4")),
        came_frozen: true,
        spaced: true,
        log: Some(log),
        before: None,
    };
    assert_eq!(stands(&freezer_freezing(&none)), State::Missing);
    let thick = Freezing { thickness: Some(inch("28")), log: Some(days(40, -20)), ..none.clone() };
    assert_eq!(stands(&freezer_freezing(&thick)), State::Failed);
    let warm = Freezing {
        came_frozen: false,
        before: Some(warmer(fahrenheit(40))),
        log: Some(days(40, -20)),
        ..none
    };
    assert_eq!(stands(&freezer_freezing(&warm)), State::Missing);
    let crowded = Freezing { spaced: false, came_frozen: true, ..warm };
    assert_eq!(stands(&freezer_freezing(&crowded)), State::Missing);
}

#[test]
fn freezing_is_for_pork_and_for_no_game() {
    assert!(may_be_frozen("pork") && may_be_frozen(" Pig "));
    for other in ["wild boar", "bear", "boar", "beef", ""] {
        assert!(!may_be_frozen(other), "{other}");
    }
}

#[test]
fn every_row_at_the_centre_is_met_on_its_last_minute() {
    for row in TABLE_2 {
        let minutes: i64 = (row.hours * dec!(60)).try_into().unwrap();
        let one = |minutes| {
            let log = Some(flat(minutes, row.degrees));
            stands(&centre_freezing(&Freezing {
                came_frozen: true,
                spaced: true,
                log,
                ..Freezing::default()
            }))
        };
        assert_eq!((one(minutes), one(minutes - 1)), (State::Met, State::Missing), "{row:?}");
    }
}

#[test]
fn every_row_of_heating_is_met_on_its_last_minute_and_a_hundredth_of_a_degree_colder_is_not() {
    for row in HEATING {
        let minutes: i64 = row.least.minutes().try_into().unwrap();
        let one = |minutes, value| stands(&heating(Some(&steady(minutes, value)), true));
        assert_eq!(one(minutes, fahrenheit(row.degrees)), State::Met, "{row:?}");
        // 142 °F asks for a minute as 140 °F does.
        if row.degrees != 142 {
            assert_ne!(one(minutes, colder(fahrenheit(row.degrees))), State::Met, "{row:?}");
        }
        if minutes > 0 {
            assert_eq!(one(minutes - 1, fahrenheit(row.degrees)), State::Missing, "{row:?}");
        }
    }
}

#[test]
fn what_is_neither_cured_nor_fermented_comes_up_within_two_hours() {
    let come_up = |minutes: i64| {
        let at =
            |minute, degrees| Sample { at: START + Duration::minutes(minute), value: fahrenheit(degrees) };
        let samples = vec![at(0, 60), at(minutes, 120), at(minutes + 10, 144)];
        let log = Log::new(START, START + Duration::minutes(minutes + 10), samples, Duration::hours(24));
        stands(&heating(Some(&log), false))
    };
    assert_eq!((come_up(120), come_up(121)), (State::Met, State::Failed));
}

#[test]
fn method_one_runs_two_clocks_and_the_wider_casing_waits_longer() {
    let met = |room, all| stood(Method::Sausage1, &salami(room, all));
    assert_eq!(met(20, 25), State::Met);
    assert_eq!(met(19, 25), State::Missing);
    assert_eq!(met(20, 24), State::Missing);
    let wide = |width: &str, room, all| {
        stood(Method::Sausage1, &Sausage { diameter: Some(inch(width)), ..salami(room, all) })
    };
    assert_eq!(wide("3.51", 34, 40), State::Missing);
    assert_eq!(wide("3.51", 35, 40), State::Met);
    assert_eq!(wide("4", 35, 39), State::Missing);
    assert_eq!(wide("4.01", 60, 60), State::Failed);
    let pepperoni = |width: &str, room, all| {
        stood(Method::Pepperoni, &Sausage { diameter: Some(inch(width)), ..salami(room, all) })
    };
    assert_eq!(pepperoni("1.375", 15, 20), State::Met);
    assert_eq!(pepperoni("1.375", 15, 19), State::Missing);
    assert_eq!(pepperoni("1.38", 30, 30), State::Failed);
}

#[test]
fn the_salt_of_a_modern_salami_meets_none_of_methods_one_two_three_and_five() {
    let modern = Sausage { salt: Some(Grams::whole(2_800)), ..salami(90, 90) };
    for method in [Method::Sausage1, Method::Sausage2, Method::Sausage3, Method::Sausage5] {
        let salt = sausage(method, &modern).into_iter().find(|one| one.about == About::Salt).unwrap();
        assert_eq!((salt.state, salt.found.as_str()), (State::Failed, "2.8 % of it"));
        assert_eq!(stood(method, &modern), State::Failed);
    }
    let short = Sausage { salt: Some(Grams::new(dec!(3329.99))), ..salami(20, 25) };
    assert_eq!(stood(Method::Sausage1, &short), State::Failed);
}

#[test]
fn a_cold_hour_in_the_drying_room_does_not_count() {
    let Some(log) = salami(20, 25).drying else { unreachable!() };
    let mut samples = log.samples().to_vec();
    samples[30].value = colder(fahrenheit(45));
    let cold = Log::new(log.from(), log.to(), samples, Duration::hours(24));
    let one = Sausage { drying: Some(cold), ..salami(20, 25) };
    assert_eq!(stood(Method::Sausage1, &one), State::Missing);
}

#[test]
fn method_two_smokes_forty_hours_and_dries_for_less() {
    let smoked = |minutes, room, all, width: &str| {
        let one = Sausage {
            smoked: true,
            warm: Some(flat(minutes, 80)),
            diameter: Some(inch(width)),
            ..salami(room, all)
        };
        stood(Method::Sausage2, &one)
    };
    assert_eq!(smoked(2_400, 10, 18, "3.5"), State::Met);
    assert_eq!(smoked(2_399, 10, 18, "3.5"), State::Missing);
    assert_eq!(smoked(2_400, 9, 18, "3.5"), State::Missing);
    assert_eq!(smoked(2_400, 10, 17, "3.5"), State::Missing);
    assert_eq!(smoked(2_400, 24, 33, "4"), State::Missing);
    assert_eq!(smoked(2_400, 25, 33, "4"), State::Met);
    let unsmoked = Sausage { warm: Some(flat(2_400, 80)), ..salami(10, 18) };
    assert_eq!(stood(Method::Sausage2, &unsmoked), State::Missing);
}

#[test]
fn method_three_holds_smokes_and_heats() {
    let one = |hot_minutes: i64| {
        let at =
            |minute, degrees| Sample { at: START + Duration::minutes(minute), value: fahrenheit(degrees) };
        // Never below 90 °F, up to 128 °F at six hours, so long there, then straight back.
        let samples = vec![
            at(0, 90),
            at(359, 90),
            at(360, 128),
            at(360 + hot_minutes, 128),
            at(361 + hot_minutes, 90),
            at(900, 90),
        ];
        let warm = Log::new(START, START + Duration::minutes(900), samples, Duration::hours(24));
        Sausage {
            smoked: true,
            before_stuffing: Some(flat(36 * 60, 34)),
            since_cure: Some(flat(144 * 60, 34)),
            warm: Some(warm),
            drying: None,
            ..salami(0, 0)
        }
    };
    assert_eq!(stood(Method::Sausage3, &one(240)), State::Met);
    assert_eq!(stood(Method::Sausage3, &one(239)), State::Missing);
    let wide = Sausage { diameter: Some(inch("4")), ..one(420) };
    assert_eq!(stood(Method::Sausage3, &wide), State::Met);
    let wide = Sausage { diameter: Some(inch("4")), ..one(419) };
    assert_eq!(stood(Method::Sausage3, &wide), State::Missing);
    let short = Sausage { since_cure: Some(flat(144 * 60 - 1, 34)), ..one(240) };
    assert_eq!(stood(Method::Sausage3, &short), State::Missing);
}

#[test]
fn methods_four_five_and_seven_ask_for_their_own() {
    let fine = Sausage {
        particle: Some(inch("0.25")),
        salt: Some(Grams::whole(2_500)),
        diameter: Some(Length::new(dec!(84.6666))),
        before_stuffing: Some(days(10, 36)),
        ..salami(25, 35)
    };
    assert_eq!(stood(Method::Sausage4, &fine), State::Met);
    let warm_bath = Sausage { warm: Some(flat(60, 100)), ..fine.clone() };
    assert_eq!(stood(Method::Sausage4, &warm_bath), State::Missing);
    let cold = Sausage { drying: Some(days(25, 44)), ..fine.clone() };
    assert_eq!(stood(Method::Sausage4, &cold), State::Failed);
    assert_eq!(stood(Method::Sausage5, &salami(40, 65)), State::Met);
    assert_eq!(stood(Method::Sausage5, &salami(40, 64)), State::Missing);

    let at = |hour: i64, degrees| Sample { at: START + Duration::hours(hour), value: fahrenheit(degrees) };
    let chamber = |last: i64| {
        let steps = [(0, 50), (12, 90), (13, 100), (14, 110), (15, 120), (16, 125)];
        let ends = steps.iter().skip(1).map(|(hour, _)| *hour).chain([last]);
        let samples = steps.iter().zip(ends).flat_map(|((from, degrees), to)| {
            let end =
                Sample { at: at(to, *degrees).at - Duration::milliseconds(1), value: fahrenheit(*degrees) };
            [at(*from, *degrees), end]
        });
        Log::new(START, START + Duration::hours(last), samples.collect(), Duration::hours(24))
    };
    let seven = |last, diameter: Decimal, room| Sausage {
        salt: Some(Grams::whole(2_700)),
        diameter: Some(Length::new(diameter)),
        warm: Some(chamber(last)),
        drying: Some(days(room, 50)),
        ..fine.clone()
    };
    assert_eq!(stood(Method::Sausage7, &seven(23, dec!(105), 7)), State::Met);
    assert_eq!(stood(Method::Sausage7, &seven(22, dec!(105), 7)), State::Missing);
    assert_eq!(stood(Method::Sausage7, &seven(23, dec!(105), 6)), State::Missing);
    assert_eq!(stood(Method::Sausage7, &seven(23, dec!(105.1), 7)), State::Failed);
    assert_eq!(stood(Method::Sausage7, &seven(22, dec!(55), 4)), State::Met);
    assert_eq!(stood(Method::Sausage7, &seven(22, dec!(55.1), 4)), State::Missing);
}

#[test]
fn method_six_reckons_the_days_of_its_casing_its_salt_and_its_warm_holding() {
    // 3 in: 20 days; 3.3 % and more adds none above the table; 48 h at 80 °F take 3 off.
    let one = |room: i64| Sausage {
        diameter: Some(inch("3")),
        salt: Some(Grams::whole(3_400)),
        dry: Some(Grams::ZERO),
        warm: Some(flat(48 * 60, 80)),
        drying: Some(days(room, 50)),
        since_cure: Some(days(room + 2, 50)),
        ..salami(0, 0)
    };
    assert_eq!(stood(Method::Sausage6, &one(17)), State::Met);
    assert_eq!(stood(Method::Sausage6, &one(16)), State::Missing);
    let weak = Sausage { salt: Some(Grams::whole(1_999)), ..one(60) };
    assert_eq!(stood(Method::Sausage6, &weak), State::Failed);
    let wide = Sausage { diameter: Some(inch("6.1")), ..one(60) };
    assert_eq!(stood(Method::Sausage6, &wide), State::Failed);
    assert_eq!(sausage(Method::Coppa, &one(17)), []);
}

#[test]
fn coppa_and_capocollo_ask_for_salt_cure_and_room() {
    let muscle = |cure: i64, room: i64| Muscle {
        salt: Some(Grams::whole(4_500)),
        green: Some(Grams::whole(100_000)),
        salt_kept: true,
        smoked: true,
        cure: Some(days(cure, 36)),
        warm: Some(flat(30 * 60, 80)),
        drying: Some(days(room, 45)),
        ..Muscle::default()
    };
    let stood = |method, one: &Muscle| stands(&whole(method, one));
    assert_eq!(stood(Method::Coppa, &muscle(18, 35)), State::Met);
    assert_eq!(stood(Method::Coppa, &muscle(17, 35)), State::Missing);
    assert_eq!(stood(Method::Coppa, &muscle(18, 34)), State::Missing);
    assert_eq!(stood(Method::Capocollo, &muscle(25, 20)), State::Met);
    assert_eq!(stood(Method::Capocollo, &muscle(24, 20)), State::Missing);
    let weak = Muscle { salt: Some(Grams::new(dec!(4499.99))), ..muscle(25, 35) };
    assert_eq!(stood(Method::Coppa, &weak), State::Failed);
    let washed = Muscle { salt_kept: false, ..muscle(25, 35) };
    assert_eq!(stood(Method::Coppa, &washed), State::Missing);
    assert_eq!(whole(Method::Sausage1, &washed), []);
}

#[test]
fn hams_wait_for_their_weight_and_dry_by_the_fifth_table() {
    let ham = |cure: i64, room: i64, degrees| Muscle {
        salt: Some(Grams::whole(4_000)),
        mix: Some(Grams::whole(5_714)),
        green: Some(Grams::whole(100_000)),
        heaviest: Some(Grams::new(dec!(11339.81))),
        overhauled: true,
        salt_kept: true,
        contact: Some(days(38, 40)),
        cure: Some(days(cure, 40)),
        drying: Some(flat(room, degrees)),
        ..Muscle::default()
    };
    let stood = |method, one: &Muscle| stands(&whole(method, one));
    for (degrees, tenths) in TABLE_5 {
        let minutes = i64::from(tenths) * 144;
        assert_eq!(stood(Method::Ham1, &ham(40, minutes, degrees)), State::Met, "{degrees}");
        assert_eq!(stood(Method::Ham1, &ham(40, minutes - 1, degrees)), State::Missing, "{degrees}");
    }
    assert_eq!(stood(Method::Ham1, &ham(40, 90_000, 74)), State::Missing);
    assert_eq!(stood(Method::Ham1, &ham(39, 90_000, 75)), State::Missing);
    // 25 lb: 1.5 days a pound in contact are 37.5, 2 days a pound in all are 50.
    assert_eq!(stood(Method::Ham3, &ham(51, 90_000, 75)), State::Met);
    assert_eq!(stood(Method::Ham3, &ham(49, 90_000, 75)), State::Missing);
    let mild = Muscle { mix: Some(Grams::whole(5_715)), ..ham(51, 90_000, 75) };
    assert_eq!(stood(Method::Ham3, &mild), State::Failed);
}

#[test]
fn every_method_has_its_own_key_and_what_is_from_memory_says_so() {
    for method in Method::ALL {
        assert_eq!(Method::of_key(method.key()), Some(method));
        assert!(!(method.is_sausage() && method.is_whole_muscle()));
    }
    assert_eq!(Method::of_key("ham-4"), None);
    assert!(Method::Sausage1.mark().is_confirmed() && !Method::Sausage6.mark().is_confirmed());
}

proptest! {
    #[test]
    fn more_salt_never_adds_days_and_more_warmth_never_takes_fewer_off(
        tenths in 20_i64..33, hours in 24_i64..120, column in 0_usize..9, days in 14_u16..50,
    ) {
        let salt = Decimal::new(tenths, 1);
        prop_assert!(days_added(days, salt) >= days_added(days, salt + dec!(0.1)));
        let off = |hours: i64, column: usize| days_deducted(days, hours.into(), TABLE_3B_DEGREES[column]);
        prop_assert!(off(hours, column) <= off(hours, column + 1));
        prop_assert!(off(hours, column) <= off(hours + 24, column));
        prop_assert!(off(hours, column) <= days);
    }

    #[test]
    fn a_longer_freezing_is_never_worse(minutes in 1_i64..50_000, more in 0_i64..5_000, degrees in -40_i32..10) {
        let one = |minutes| {
            let log = Some(flat(minutes, degrees));
            stands(&freezer_freezing(&Freezing { thickness: Some(inch("6")), came_frozen: true, spaced: true, log, before: None }))
        };
        prop_assert!(one(minutes + more) <= one(minutes));
    }
}
