//! 9 CFR 318.10(c) as it stood until 30 July 2018: every row of its tables and its worked examples, each found by asking the
//! program for the least that it takes as met.

use flitchbook::measure::{Grams, Length, LengthUnit};
use flitchbook::standards::cold::{Log, Sample};
use flitchbook::standards::trichinella::{
    Freezing, HEATING, Method, Muscle, Sausage, TABLE_1, TABLE_2, TABLE_3B_DEGREES, centre_freezing,
    days_added, days_deducted, drying_days, effective_salt, freezer_freezing, heating, sausage, stands,
    whole,
};
use flitchbook::standards::{State, fahrenheit};
use rust_decimal::{Decimal, dec};
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use super::{Published, figure};

const FREEZING: &str = "9 CFR 318.10(c)(2), table 1";
const CENTRE: &str = "9 CFR 318.10(c)(2), table 2";
const HEAT: &str = "9 CFR 318.10(c)(1), edition of 1998";
const SAUSAGE: &str = "9 CFR 318.10(c)(3)(i)";
const SAUSAGE_MEMORY: &str = "9 CFR 318.10(c)(3)(i), from memory";
const WHOLE_MEMORY: &str = "9 CFR 318.10(c)(3)(ii) to (iv), from memory";
const START: OffsetDateTime = datetime!(2017-01-02 08:00 UTC);

fn inch(inches: Decimal) -> Length {
    Length::of(inches, LengthUnit::Inch)
}

/// Minutes at one temperature.
fn flat(minutes: i64, degrees: i32) -> Log {
    let end = START + Duration::minutes(minutes);
    let value = fahrenheit(degrees);
    let samples = vec![Sample { at: START, value }, Sample { at: end, value }];
    Log::new(START, end, samples, Duration::days(400))
}

/// The fewest of a unit, in so many minutes each, for which all conditions are met.
fn least(unit: i64, met: impl Fn(i64) -> bool) -> String {
    (0..=200).find(|count| met(count * unit)).map_or("never".into(), |count| count.to_string())
}

const DAY: i64 = 1_440;
const HOUR: i64 = 60;

fn freezing_figures(figures: &mut Vec<Published>) {
    let table = [(5, 20, 30), (-10, 10, 20), (-20, 6, 12)];
    for (degrees, one, two) in table {
        for (group, thickness, days) in [(1, dec!(6), one), (2, dec!(27), two)] {
            let found = least(DAY, |minutes| {
                let log = Some(flat(minutes, degrees));
                let thickness = Some(inch(thickness));
                let freezing = Freezing { thickness, came_frozen: true, spaced: true, log, before: None };
                stands(&freezer_freezing(&freezing)) == State::Met
            });
            figures.push(figure(FREEZING, format!("days at {degrees} °F, group {group}"), days, found));
        }
    }
    figures.push(figure(FREEZING, "rows", 3, TABLE_1.len()));
    let table = [
        (0, "106"),
        (-5, "82"),
        (-10, "63"),
        (-15, "48"),
        (-20, "35"),
        (-25, "22"),
        (-30, "8"),
        (-35, "0.5"),
    ];
    for (degrees, hours) in table {
        let found = (0..=300).map(|half| half * 30).find(|minutes| {
            let log = Some(flat(*minutes, degrees));
            let freezing = Freezing { came_frozen: true, spaced: true, log, ..Freezing::default() };
            stands(&centre_freezing(&freezing)) == State::Met
        });
        let found = found.map(|minutes| (Decimal::from(minutes) / dec!(60)).normalize().to_string());
        figures.push(figure(CENTRE, format!("hours at {degrees} °F"), hours, found.unwrap_or_default()));
    }
    figures.push(figure(CENTRE, "rows", 8, TABLE_2.len()));
}

fn heating_figures(figures: &mut Vec<Published>) {
    let table = [
        (120, 1_260),
        (122, 570),
        (124, 270),
        (126, 120),
        (128, 60),
        (130, 30),
        (132, 15),
        (134, 6),
        (136, 3),
        (138, 2),
        (140, 1),
        (142, 1),
        (144, 0),
    ];
    for (degrees, minutes) in table {
        let found =
            (0..=1_300).find(|minutes| stands(&heating(Some(&flat(*minutes, degrees)), true)) == State::Met);
        figures.push(figure(HEAT, format!("minutes at {degrees} °F"), minutes, found.unwrap_or(-1)));
    }
    figures.push(figure(HEAT, "rows", 13, HEATING.len()));
}

/// A sausage that meets every method, but for what a case takes away.
fn ready() -> Sausage {
    let hundred = Some(Grams::whole(100_000));
    Sausage {
        particle: Some(inch(dec!(0.25))),
        salt: Some(Grams::whole(3_330)),
        unstuffed: hundred,
        dry: Some(Grams::ZERO),
        diameter: Some(inch(dec!(1.375))),
        uncoated: true,
        smoked: true,
        before_stuffing: Some(flat(100 * DAY, 36)),
        warm: Some(flat(100 * DAY, 130)),
        drying: Some(flat(100 * DAY, 50)),
        since_cure: Some(flat(250 * DAY, 50)),
    }
}

fn dries(method: Method, diameter: Decimal, degrees: i32) -> String {
    least(DAY, |minutes| {
        let one = Sausage { diameter: Some(inch(diameter)), drying: Some(flat(minutes, degrees)), ..ready() };
        stands(&sausage(method, &one)) == State::Met
    })
}

fn waits(method: Method, diameter: Decimal, unit: i64, degrees: i32) -> String {
    least(unit, |minutes| {
        let one =
            Sausage { diameter: Some(inch(diameter)), since_cure: Some(flat(minutes, degrees)), ..ready() };
        stands(&sausage(method, &one)) == State::Met
    })
}

fn smokes(method: Method, diameter: Decimal, degrees: i32) -> String {
    least(HOUR, |minutes| {
        let one = Sausage { diameter: Some(inch(diameter)), warm: Some(flat(minutes, degrees)), ..ready() };
        stands(&sausage(method, &one)) == State::Met
    })
}

fn salts(method: Method) -> String {
    let found = (0..=1_000).find(|tens| {
        let one =
            Sausage { salt: Some(Grams::whole(tens * 10)), warm: Some(flat(43 * HOUR, 130)), ..ready() };
        let cold = Sausage { warm: None, ..ready() };
        let one = if method == Method::Sausage4 { Sausage { salt: one.salt, ..cold } } else { one };
        stands(&sausage(method, &one)) == State::Met
    });
    found.map_or("never".into(), |tens| Decimal::new(tens, 2).normalize().to_string())
}

fn sausage_figures(figures: &mut Vec<Published>) {
    use Method::{Pepperoni, Sausage1, Sausage2, Sausage3, Sausage5, Sausage7};
    let (narrow, wide) = (dec!(3.5), dec!(4));
    let mut say = |case: &str, says: &str, found: String| figures.push(figure(SAUSAGE, case, says, found));
    say("method 1, salt", "3.33", salts(Sausage1));
    say("method 1, 3½ in, days in the room", "20", dries(Sausage1, narrow, 45));
    say("method 1, 3½ in, days since cure", "25", waits(Sausage1, narrow, DAY, 45));
    say("method 1, 4 in, days in the room", "35", dries(Sausage1, wide, 45));
    say("method 1, 4 in, days since cure", "40", waits(Sausage1, wide, DAY, 45));
    say("method 1, room at 44 °F", "never", dries(Sausage1, narrow, 44));
    say("method 1, casing over 4 in", "never", dries(Sausage1, dec!(4.01), 45));
    say("pepperoni, days in the room", "15", dries(Pepperoni, dec!(1.375), 45));
    say("pepperoni, days since cure", "20", waits(Pepperoni, dec!(1.375), DAY, 45));
    say("pepperoni, casing over 1⅜ in", "never", dries(Pepperoni, dec!(1.38), 45));
    say("method 2, salt", "3.33", salts(Sausage2));
    say("method 2, hours in smoke", "40", smokes(Sausage2, narrow, 80));
    say("method 2, smoke at 79 °F", "never", smokes(Sausage2, narrow, 79));
    say("method 2, 3½ in, days in the room", "10", dries(Sausage2, narrow, 45));
    say("method 2, 3½ in, days since cure", "18", waits(Sausage2, narrow, DAY, 45));
    say("method 2, 4 in, days in the room", "25", dries(Sausage2, wide, 45));
    say("method 2, 4 in, days since cure", "33", waits(Sausage2, wide, DAY, 45));
    let mut say =
        |case: &str, says: &str, found: String| figures.push(figure(SAUSAGE_MEMORY, case, says, found));
    say("method 3, salt", "3.33", salts(Sausage3));
    let held = least(HOUR, |minutes| {
        let one = Sausage { before_stuffing: Some(flat(minutes, 34)), ..ready() };
        stands(&sausage(Sausage3, &one)) == State::Met
    });
    say("method 3, hours before stuffing", "36", held);
    say("method 3, hours since cure", "144", waits(Sausage3, narrow, HOUR, 34));
    say("method 3, 3½ in, hours in smoke", "12", smokes(Sausage3, narrow, 128));
    say("method 4, salt", "2.5", salts(Method::Sausage4));
    let mass = least(DAY, |minutes| {
        let one = Sausage { before_stuffing: Some(flat(minutes, 36)), warm: None, ..ready() };
        stands(&sausage(Method::Sausage4, &one)) == State::Met
    });
    say("method 4, days as a compact mass", "10", mass);
    let since = least(DAY, |minutes| {
        let one = Sausage { since_cure: Some(flat(minutes, 45)), warm: None, ..ready() };
        stands(&sausage(Method::Sausage4, &one)) == State::Met
    });
    say("method 4, days since cure", "35", since);
    say("method 5, days held", "65", waits(Sausage5, dec!(9), DAY, 45));
    say("method 5, held at 44 °F", "never", waits(Sausage5, dec!(9), DAY, 44));
    say("method 7, salt", "2.7", salts(Sausage7));
    let mm = dec!(25.4);
    say("method 7, 105 mm, days of drying", "7", dries(Sausage7, dec!(105) / mm, 50));
    say("method 7, 55 mm, days of drying", "4", dries(Sausage7, dec!(55) / mm, 50));
    say("method 7, 105 mm, hours in the chamber", "23", smokes(Sausage7, dec!(105) / mm, 125));
    say("method 7, 55 mm, hours in the chamber", "19", smokes(Sausage7, dec!(55) / mm, 125));
}

fn method_6(figures: &mut Vec<Published>) {
    let mut say =
        |case: String, says: String, found: String| figures.push(figure(SAUSAGE_MEMORY, case, says, found));
    let widths = [
        (dec!(1), 14),
        (dec!(1.5), 15),
        (dec!(2), 16),
        (dec!(2.5), 18),
        (dec!(3), 20),
        (dec!(3.5), 23),
        (dec!(4), 25),
        (dec!(4.5), 30),
        (dec!(5), 35),
        (dec!(5.5), 43),
        (dec!(6), 50),
    ];
    for (width, days) in widths {
        let found = drying_days(inch(width)).unwrap_or_default();
        say(format!("table 3A, casing of {width} in"), days.to_string(), found.to_string());
    }
    let held = [
        (24, [4, 5, 8, 10, 15, 23, 37, 57, 90, 100]),
        (48, [9, 12, 18, 25, 35, 49, 88, 100, 100, 100]),
        (72, [14, 19, 28, 39, 55, 74, 100, 100, 100, 100]),
        (96, [19, 26, 38, 53, 75, 98, 100, 100, 100, 100]),
        (120, [24, 33, 48, 67, 95, 100, 100, 100, 100, 100]),
    ];
    for (hours, row) in held {
        for (degrees, per_cent) in TABLE_3B_DEGREES.into_iter().zip(row) {
            // Of a hundred days, as many as there are per cent.
            let found = days_deducted(100, hours.into(), degrees);
            say(format!("table 3B, {hours} h at {degrees} °F, %"), per_cent.to_string(), found.to_string());
        }
    }
    for (n, tenths) in (20..=33_i64).rev().enumerate() {
        let salt = Decimal::new(tenths, 1);
        let found = days_added(100, salt).unwrap_or_default();
        say(format!("table 4, {salt} % of salt, %"), (1 + 3 * n).to_string(), found.to_string());
    }
    // The examples of the text.
    let off = days_deducted(20, dec!(48), 80);
    say("example, 3 in, 48 h at 80 °F: days taken off".into(), "3".into(), off.to_string());
    say("example, 3 in, 48 h at 80 °F: days left".into(), "17".into(), (20 - off).to_string());
    let pounds = |pounds: Decimal| Grams::new(pounds * dec!(453.59237));
    let dry = dec!(3.56) + dec!(2) + dec!(0.8) + dec!(0.012);
    let salt = effective_salt(pounds(dec!(3.56)), pounds(dec!(127.872)), pounds(dry)).unwrap_or_default();
    say("example, 3.56 lb of salt in 127.872 lb, %".into(), "2.93".into(), salt.round_dp(2).to_string());
    let added = days_added(100, salt).unwrap_or_default();
    say("example, that salt by table 4, %".into(), "13".into(), added.to_string());
    let added = days_added(23, dec!(2)).unwrap_or_default();
    say("example, 3½ in, 2.0 lb of salt: days added".into(), "10".into(), added.to_string());
    say("example, 3½ in, 2.0 lb of salt: days in all".into(), "33".into(), (23 + added).to_string());
    let one =
        Sausage { diameter: Some(inch(dec!(3.5))), salt: Some(Grams::whole(2_000)), warm: None, ..ready() };
    let found = least(DAY, |minutes| {
        let one = Sausage { drying: Some(flat(minutes, 50)), ..one.clone() };
        stands(&sausage(Method::Sausage6, &one)) == State::Met
    });
    say("example, the same, by the whole method".into(), "33".into(), found);
}

fn whole_figures(figures: &mut Vec<Published>) {
    let ready = || Muscle {
        salt: Some(Grams::whole(70_000)),
        mix: Some(Grams::whole(100_000)),
        green: Some(Grams::whole(100_000)),
        heaviest: Some(Grams::whole(453)),
        overhauled: true,
        salt_kept: true,
        smoked: true,
        contact: Some(flat(100 * DAY, 40)),
        cure: Some(flat(100 * DAY, 40)),
        warm: Some(flat(100 * DAY, 130)),
        drying: Some(flat(100 * DAY, 75)),
    };
    let met = |method, one: &Muscle| stands(&whole(method, one)) == State::Met;
    let cured =
        |method, degrees| least(DAY, |m| met(method, &Muscle { cure: Some(flat(m, degrees)), ..ready() }));
    let dried =
        |method, degrees| least(DAY, |m| met(method, &Muscle { drying: Some(flat(m, degrees)), ..ready() }));
    let salted = |method| {
        let found =
            (0..=1_000).find(|tens| met(method, &Muscle { salt: Some(Grams::whole(tens * 10)), ..ready() }));
        found.map_or("never".into(), |tens| Decimal::new(tens, 2).normalize().to_string())
    };
    let mut say =
        |case: &str, says: &str, found: String| figures.push(figure(WHOLE_MEMORY, case, says, found));
    say("capocollo, salt", "4.5", salted(Method::Capocollo));
    say("capocollo, days in cure", "25", cured(Method::Capocollo, 36));
    let smoked = least(HOUR, |m| met(Method::Capocollo, &Muscle { warm: Some(flat(m, 80)), ..ready() }));
    say("capocollo, hours in smoke", "30", smoked);
    say("capocollo, days in the room", "20", dried(Method::Capocollo, 45));
    say("coppa, salt", "4.5", salted(Method::Coppa));
    say("coppa, days in cure", "18", cured(Method::Coppa, 36));
    say("coppa, cure at 35 °F", "never", cured(Method::Coppa, 35));
    say("coppa, days in the room", "35", dried(Method::Coppa, 45));
    say("ham method 1, salt", "4", salted(Method::Ham1));
    say("ham method 1, days in cure", "40", cured(Method::Ham1, 36));
    let contact = least(DAY, |m| met(Method::Ham3, &Muscle { contact: Some(flat(m, 40)), ..ready() }));
    say("ham method 3, days in contact", "28", contact);
    say("ham method 3, days in contact and equalizing", "40", cured(Method::Ham3, 35));
    say("ham method 3, cured at 46 °F", "never", cured(Method::Ham3, 46));
    let table = [
        (130, "1.5"),
        (125, "2"),
        (120, "3"),
        (115, "4"),
        (110, "5"),
        (105, "6"),
        (100, "7"),
        (95, "9"),
        (90, "11"),
        (85, "18"),
        (80, "25"),
        (75, "35"),
    ];
    for (degrees, days) in table {
        let found = (0..=400).find(|tenths| {
            met(Method::Ham1, &Muscle { drying: Some(flat(tenths * 144, degrees)), ..ready() })
        });
        let found = found.map(|tenths| Decimal::new(tenths, 1).normalize().to_string()).unwrap_or_default();
        say(&format!("table 5, days at {degrees} °F"), days, found);
    }
}

pub fn figures() -> Vec<Published> {
    let mut figures = Vec::new();
    freezing_figures(&mut figures);
    heating_figures(&mut figures);
    sausage_figures(&mut figures);
    method_6(&mut figures);
    whole_figures(&mut figures);
    figures
}
