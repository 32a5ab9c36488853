//! Degree-hours: the limits of the two rule sets, the hours of constant temperatures, worked examples, and what is just at
//! an edge and just past it.

use flitchbook::measure::Ph;
use flitchbook::standards::degree_hours::{
    CANADA, Edge, Method, PH_END, RuleSet, Step, UNITED_STATES, Warmth, may_take, schedule,
};
use rust_decimal::{Decimal, RoundingStrategy, dec};

use super::{Published, figure};

const WISCONSIN: &str = "University of Wisconsin, Fermentation Log, version 11/23/2012";
const EXACT: &str = "Limits used by the University of Wisconsin's Fermentation Log, arithmetic on them";
const CFIA: &str = "CFIA Meat Hygiene Manual of Procedures, chapter 4, arithmetic on its limits";
const CFIA_INPUTS: &str = "CFIA Meat Hygiene Manual of Procedures, chapter 4, worked example";
const CONCEPT: &str = "Degree-hour concept of the AMI Foundation (1997), worked example";
const GUIDELINE: &str = "FSIS-GD-2023-0002: pH 5.3 or less";

fn places(value: Decimal, places: u32) -> String {
    let rounded = value.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero);
    format!("{rounded:.*}", places as usize)
}

fn reckon(rules: &RuleSet, steps: &[(Decimal, Decimal)]) -> Warmth {
    let steps: Vec<Step> =
        steps.iter().map(|(degrees, hours)| Step { degrees: *degrees, hours: *hours }).collect();
    schedule(rules, &steps).unwrap()
}

/// Degree-hours, the limit, and how it comes out.
fn example(
    source: &'static str,
    rules: &RuleSet,
    case: &str,
    steps: &[(Decimal, Decimal)],
    says: [&str; 3],
) -> Vec<Published> {
    let warmth = reckon(rules, steps);
    let verdict = rules.judge(Method::Formula, Edge::AtMost, &warmth).unwrap();
    let left = verdict.limit - verdict.figure;
    let result = if verdict.over {
        format!("over by {}", -left.normalize())
    } else {
        format!("{} left", left.normalize())
    };
    vec![
        figure(source, format!("{case}: degree-hours"), says[0], verdict.figure.normalize()),
        figure(source, format!("{case}: limit"), says[1], verdict.limit),
        figure(source, format!("{case}: result"), says[2], result),
    ]
}

fn wisconsin() -> Vec<Published> {
    let printed = [
        (dec!(75), "80"),
        (dec!(80), "60"),
        (dec!(85), "48"),
        (dec!(90), "33"),
        (dec!(95), "28"),
        (dec!(100), "25"),
        (dec!(105), "20"),
        (dec!(110), "18"),
    ];
    let exact = [
        (dec!(70), "120.00"),
        (dec!(75), "80.00"),
        (dec!(80), "60.00"),
        (dec!(85), "48.00"),
        (dec!(90), "33.33"),
        (dec!(95), "28.57"),
        (dec!(100), "25.00"),
        (dec!(105), "20.00"),
        (dec!(110), "18.00"),
    ];
    let mut all = Vec::new();
    for (degrees, hours) in printed {
        let listed = UNITED_STATES.listed(degrees).unwrap();
        all.push(figure(WISCONSIN, format!("printed hours at {degrees} °F"), hours, listed.1));
        // Rounded down, never up.
        let down = may_take(&UNITED_STATES, degrees).unwrap().floor();
        all.push(figure(WISCONSIN, format!("hours at {degrees} °F, rounded down"), hours, down));
    }
    for (degrees, hours) in exact {
        let most = may_take(&UNITED_STATES, degrees).unwrap();
        all.push(figure(EXACT, format!("exact hours at {degrees} °F"), hours, places(most, 2)));
    }
    // Between two listed temperatures the next higher one is used.
    for (degrees, listed) in [(dec!(81), "48"), (dec!(85.1), "33"), (dec!(96), "25"), (dec!(72), "80")] {
        let hours = UNITED_STATES.listed(degrees).unwrap().1;
        all.push(figure(WISCONSIN, format!("between two rows, {degrees} °F"), listed, hours));
    }
    // "Within the time limit listed": exactly 60 h at 80 °F is met, a minute more is not.
    for (hours, says) in [(dec!(60), "met"), (dec!(60) + dec!(1) / dec!(60), "over")] {
        let warmth = reckon(&UNITED_STATES, &[(dec!(80), hours)]);
        let over = UNITED_STATES.judge(Method::Printed, Edge::AtMost, &warmth).unwrap().over;
        let case = format!("{} h at 80 °F", hours.round_dp(3));
        all.push(figure(WISCONSIN, case, says, if over { "over" } else { "met" }));
    }
    all
}

fn canada() -> Vec<Published> {
    let rows = [
        (20, "151.1"),
        (22, "103.9"),
        (24, "79.2"),
        (26, "63.9"),
        (28, "53.6"),
        (30, "46.2"),
        (32, "40.5"),
        (33, "31.9"),
        (34, "30.2"),
        (35, "28.6"),
        (36, "27.2"),
        (37, "25.9"),
        (38, "22.3"),
        (40, "20.5"),
        (42, "18.9"),
        (44, "17.6"),
        (46, "16.4"),
        (48, "15.4"),
        (50, "14.5"),
    ];
    let hours = |degrees: i64| places(may_take(&CANADA, degrees.into()).unwrap(), 1);
    rows.into_iter()
        .map(|(degrees, says)| figure(CFIA, format!("hours at {degrees} °C"), says, hours(degrees)))
        .collect()
}

fn worked() -> Vec<Published> {
    let us = &UNITED_STATES;
    [
        example(CFIA_INPUTS, &CANADA, "26 °C, 55 h", &[(dec!(26), dec!(55))], ["572", "665", "93 left"]),
        example(CFIA_INPUTS, &CANADA, "35 °C, 40 h", &[(dec!(35), dec!(40))], ["776", "555", "over by 221"]),
        example(
            CFIA_INPUTS,
            &CANADA,
            "24 °C 10 h, 30 °C 10 h, 35 °C 15 h",
            &[(dec!(24), dec!(10)), (dec!(30), dec!(10)), (dec!(35), dec!(15))],
            ["519", "555", "36 left"],
        ),
        vec![figure(CFIA_INPUTS, "25 °C, how long", "70.7", places(may_take(&CANADA, dec!(25)).unwrap(), 1))],
        example(CONCEPT, us, "80 °F, 55 h", &[(dec!(80), dec!(55))], ["1100", "1200", "100 left"]),
        example(CONCEPT, us, "90 °F, 40 h", &[(dec!(90), dec!(40))], ["1200", "1000", "over by 200"]),
        example(
            CONCEPT,
            us,
            "75 °F 10 h, 85 °F 10 h, 95 °F 15 h",
            &[(dec!(75), dec!(10)), (dec!(85), dec!(10)), (dec!(95), dec!(15))],
            ["925", "1000", "75 left"],
        ),
        example(
            CONCEPT,
            us,
            "55 °F 24 h, 75 °F 40 h",
            &[(dec!(55), dec!(24)), (dec!(75), dec!(40))],
            ["600", "1200", "600 left"],
        ),
        example(CONCEPT, us, "110 °F, 18 h", &[(dec!(110), dec!(18))], ["900", "900", "0 left"]),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn edges() -> Vec<Published> {
    let mut all = Vec::new();
    for (degrees, limit) in [
        (dec!(89.9), "1200"),
        (dec!(90), "1000"),
        (dec!(91), "1000"),
        (dec!(100), "1000"),
        (dec!(100.1), "900"),
    ] {
        all.push(figure(EXACT, format!("limit at {degrees} °F"), limit, UNITED_STATES.band(degrees).limit));
    }
    for (degrees, limit) in
        [(dec!(32.8), "665"), (dec!(32.9), "665"), (dec!(33), "555"), (dec!(37), "555"), (dec!(37.1), "500")]
    {
        all.push(figure(CFIA, format!("limit at {degrees} °C"), limit, CANADA.band(degrees).limit));
    }
    for (hundredths, says) in [(530, "ended"), (531, "goes on")] {
        let ended = if Ph::hundredths(hundredths) <= PH_END { "ended" } else { "goes on" };
        all.push(figure(GUIDELINE, format!("count at pH {}", Ph::hundredths(hundredths)), says, ended));
    }
    // Exactly at the limit, and as the concept is often quoted: "less than".
    let exactly = reckon(&UNITED_STATES, &[(dec!(110), dec!(18))]);
    for (edge, says) in [(Edge::AtMost, "met"), (Edge::LessThan, "over")] {
        let over = UNITED_STATES.judge(Method::Formula, edge, &exactly).unwrap().over;
        let case = format!("900 of {} 900", edge.word());
        all.push(figure(CONCEPT, case, says, if over { "over" } else { "met" }));
    }
    all
}

pub fn figures() -> Vec<Published> {
    [wisconsin(), canada(), worked(), edges()].into_iter().flatten().collect()
}
