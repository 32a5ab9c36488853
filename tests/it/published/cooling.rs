//! Cooling of what was heated: each phase of each published option at its last minute, and a minute later.

use flitchbook::standards::cold::{Log, Sample};
use flitchbook::standards::cooling::{Cooling, OPTIONS, come_up, judge};
use flitchbook::standards::fahrenheit;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use super::{Published, figure};

const START: OffsetDateTime = datetime!(2026-03-02 14:00 UTC);

fn log(samples: &[(i64, i32)]) -> Log {
    let at = |minute| START + Duration::minutes(minute);
    let samples =
        samples.iter().map(|(minute, degrees)| Sample { at: at(*minute), value: fahrenheit(*degrees) });
    let samples: Vec<_> = samples.collect();
    let end = samples.last().map_or(START, |last| last.at);
    Log::new(START, end, samples, Duration::days(2))
}

/// From, to, in °F, and the minutes that it may take.
type Phase = (i32, i32, i64);

/// The options with their phases as they are published.
const PHASES: [(&str, &[Phase]); 7] = [
    ("rapid, uncured", &[(130, 80, 90), (80, 40, 300), (130, 40, 390)]),
    ("intact pieces", &[(120, 80, 60), (120, 55, 360)]),
    ("slow, cured with nitrite", &[(130, 80, 300), (80, 45, 600), (130, 45, 900)]),
    ("slow, cured with nitrite, down to 40 °F", &[(130, 80, 300), (80, 40, 600)]),
    ("retail", &[(135, 70, 120), (135, 41, 360)]),
    ("California", &[(135, 70, 120), (70, 41, 240)]),
    ("California, slow, cured", &[(120, 80, 120), (120, 40, 1_200)]),
];

fn option(name: &str) -> &'static Cooling {
    OPTIONS.iter().find(|option| option.name == name).expect("an option by its name")
}

pub fn figures() -> Vec<Published> {
    let mut figures = Vec::new();
    for (name, phases) in PHASES {
        let option = option(name);
        for (n, (from, to, most)) in phases.iter().enumerate() {
            for (minutes, says) in [(*most, "met"), (most + 1, "not met")] {
                let held = judge(option, &log(&[(0, *from), (minutes, *to)]));
                let case = format!("{name}: {from} to {to} °F in {minutes} min");
                figures.push(figure(option.source, case, says, held[n].state.word()));
            }
        }
    }
    for (minutes, says) in [(360, "met"), (361, "not met")] {
        let held = come_up(&log(&[(0, 50), (minutes, 130), (minutes + 60, 150)]));
        figures.push(figure(held.source, format!("50 to 130 °F in {minutes} min"), says, held.state.word()));
    }
    figures
}
