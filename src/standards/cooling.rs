//! Cooling of what was heated, read at the core. Each phase is judged on its own and so is the total: a lot may meet the second
//! phase and have failed the first. A phase begins when the core first falls below its upper temperature and ends when it
//! has come down to the lower one for good; between readings it cools in a straight line.

use rust_decimal::{Decimal, dec};

use super::cold::{Log, minutes};
use super::mark::{Held, Mark, cut_off, fahrenheit, in_fahrenheit};
use crate::measure::Celsius;

/// From one temperature to another, °F, in not more than so many minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Phase {
    pub what: &'static str,
    pub from: i32,
    pub to: i32,
    pub most: u16,
}

/// A published way of cooling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cooling {
    pub name: &'static str,
    pub source: &'static str,
    pub mark: Mark,
    pub phases: &'static [Phase],
    /// What else it asks for, which no reading of temperature shows.
    pub besides: &'static str,
}

const fn phase(what: &'static str, from: i32, to: i32, most: u16) -> Phase {
    Phase { what, from, to, most }
}

/// Every option. Editions differ: each says which one it is of.
pub const OPTIONS: [Cooling; 7] = [
    Cooling {
        name: "rapid, uncured",
        source: "FSIS Compliance Guideline, Appendix B (1999), option 1; FSIS-GD-2021-13",
        mark: Mark::Read,
        phases: &[
            phase("first phase", 130, 80, 90),
            phase("second phase", 80, 40, 300),
            phase("total", 130, 40, 390),
        ],
        besides: "",
    },
    Cooling {
        name: "intact pieces",
        source: "FSIS Compliance Guideline, Appendix B (1999), option 2",
        mark: Mark::Read,
        phases: &[phase("first phase", 120, 80, 60), phase("to 55 °F", 120, 55, 360)],
        besides: "Chilling starts within 90 minutes of the end of heating; at 40 °F (4.4 °C) before it is packed.",
    },
    Cooling {
        name: "slow, cured with nitrite",
        source: "FSIS Compliance Guideline, Appendix B (1999), option 3",
        mark: Mark::Memory,
        phases: &[
            phase("first phase", 130, 80, 300),
            phase("second phase", 80, 45, 600),
            phase("total", 130, 45, 900),
        ],
        besides: "At least 100 ppm ingoing nitrite.",
    },
    Cooling {
        name: "slow, cured with nitrite, down to 40 °F",
        source: "Ohio State University Extension, sheet of 1999 on Appendix B, which ends at 40 °F where others end at 45 °F",
        mark: Mark::Read,
        phases: &[phase("first phase", 130, 80, 300), phase("second phase", 80, 40, 600)],
        besides: "At least 100 ppm ingoing nitrite.",
    },
    Cooling {
        name: "retail",
        source: "FDA Food Code 3-501.14(A)",
        mark: Mark::Read,
        phases: &[phase("first phase", 135, 70, 120), phase("total", 135, 41, 360)],
        besides: "",
    },
    Cooling {
        name: "California",
        source: "3 CCR 910.15",
        mark: Mark::Read,
        phases: &[phase("first phase", 135, 70, 120), phase("second phase", 70, 41, 240)],
        besides: "",
    },
    Cooling {
        name: "California, slow, cured",
        source: "3 CCR 910.15",
        mark: Mark::Read,
        phases: &[phase("first phase, at the surface", 120, 80, 120), phase("total", 120, 40, 1_200)],
        besides: "At least 120 ppm nitrite with a brine of 3.5 %, or at least 40 ppm with a brine of 6 %, or aw not above 0.92. In \
            place of the first phase, a drop without a stop.",
    },
];

/// How each phase of an option stands. A phase that is not over is missing as long as its time is not over either.
pub fn judge(option: &Cooling, log: &Log) -> Vec<Held> {
    option.phases.iter().map(|phase| one(option, phase, log)).collect()
}

fn one(option: &Cooling, phase: &Phase, log: &Log) -> Held {
    let needed = format!(
        "{} to {} in not more than {}",
        in_fahrenheit(phase.from),
        in_fahrenheit(phase.to),
        hours(phase.most.into())
    );
    let most = Decimal::from(phase.most);
    let begun = falls_below(log, fahrenheit(phase.from));
    let ended = stays_at(log, fahrenheit(phase.to));
    let found = begun.and_then(|begun| match ended {
        Some(ended) => Some(((ended - begun).max(Decimal::ZERO), true)),
        // Still above it at the last reading.
        None => log.samples().last().map(|last| (minutes(last.at - log.from()) - begun, false)),
    });
    let found = found.and_then(|(took, over)| match over {
        true => Some((hours(took), took <= most)),
        false if took > most => Some((format!("not over after {}", hours(took)), false)),
        false => None,
    });
    Held::new(phase.what, needed, found, (option.source, option.mark))
}

fn hours(minutes: Decimal) -> String {
    if minutes < dec!(120) {
        format!("{} min", cut_off(minutes, 1))
    } else {
        format!("{} h", cut_off(minutes / dec!(60), 2))
    }
}

/// Minutes from the start until the core was last at `limit` before it first fell below.
fn falls_below(log: &Log, limit: Celsius) -> Option<Decimal> {
    let samples = log.samples();
    let first = samples.iter().position(|sample| sample.value < limit)?;
    if first == 0 {
        // Colder than that from the start: nobody saw it pass.
        return None;
    }
    Some(crossing(log, first, limit))
}

/// Minutes from the start until it was at or below `limit` and stayed there.
fn stays_at(log: &Log, limit: Celsius) -> Option<Decimal> {
    let samples = log.samples();
    let above = samples.iter().rposition(|sample| sample.value > limit);
    match above {
        None => samples.first().map(|sample| minutes(sample.at - log.from())),
        Some(last) if last + 1 == samples.len() => None,
        Some(last) => Some(crossing(log, last + 1, limit)),
    }
}

/// Where the line between the reading before `at` and the one at `at` is at `limit`.
fn crossing(log: &Log, at: usize, limit: Celsius) -> Decimal {
    let samples = log.samples();
    let (before, after) = (samples[at - 1], samples[at]);
    let (from, to) = (minutes(before.at - log.from()), minutes(after.at - log.from()));
    let fall = before.value.decimal() - after.value.decimal();
    from + (to - from) * (before.value.decimal() - limit.decimal()) / fall
}

/// Coming up in the heat: not more than 6 hours between 50 and 130 °F, all together.
pub fn come_up(log: &Log) -> Held {
    let source = ("FSIS Cooking Guideline (Revised Appendix A), 2021", Mark::Read);
    let between = log.at_least(fahrenheit(50)).zip(log.at_least(fahrenheit(130)));
    let found = between.map(|(warm, hot)| (hours(warm - hot), warm - hot <= dec!(360)));
    let needed = format!("between {} and {} not more than 6 h", in_fahrenheit(50), in_fahrenheit(130));
    Held::new("coming up in the heat", needed, found, source)
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;
    use time::{Duration, OffsetDateTime};

    use super::*;
    use crate::standards::cold::Sample;
    use crate::standards::mark::State;

    const START: OffsetDateTime = datetime!(2026-03-02 14:00 UTC);

    fn log(samples: &[(i64, i32)]) -> Log {
        let at = |minute| START + Duration::minutes(minute);
        let end = samples.last().map_or(START, |(minute, _)| at(*minute));
        let samples =
            samples.iter().map(|(minute, degrees)| Sample { at: at(*minute), value: fahrenheit(*degrees) });
        Log::new(START, end, samples.collect(), Duration::hours(24))
    }

    fn states(option: usize, samples: &[(i64, i32)]) -> Vec<State> {
        judge(&OPTIONS[option], &log(samples)).into_iter().map(|held| held.state).collect()
    }

    #[test]
    fn each_phase_of_each_option_is_met_at_its_last_minute_and_not_a_minute_later() {
        for option in &OPTIONS {
            for (n, phase) in option.phases.iter().enumerate() {
                let most = i64::from(phase.most);
                let exact = judge(option, &log(&[(0, phase.from), (most, phase.to)]));
                let late = judge(option, &log(&[(0, phase.from), (most + 1, phase.to)]));
                assert_eq!(
                    (exact[n].state, late[n].state),
                    (State::Met, State::Failed),
                    "{} {}",
                    option.name,
                    phase.what
                );
            }
        }
    }

    #[test]
    fn a_lot_may_meet_the_second_phase_and_have_failed_the_first() {
        use State::{Failed, Met};
        assert_eq!(states(0, &[(0, 130), (91, 80), (391, 40)]), [Failed, Met, Failed]);
        assert_eq!(states(0, &[(0, 130), (90, 80), (391, 40)]), [Met, Failed, Failed]);
        // Rapid needs 40 °F; the slow options end at 45 and at 40 °F.
        assert_eq!(states(2, &[(0, 130), (300, 80), (900, 45)]), [Met, Met, Met]);
        assert_eq!(states(3, &[(0, 130), (300, 80), (900, 45)]), [Met, State::Missing]);
    }

    #[test]
    fn what_warms_up_again_has_not_come_down() {
        // At 80 °F after an hour, up again, down for good after two.
        assert_eq!(states(0, &[(0, 130), (60, 80), (61, 90), (120, 79), (200, 40)])[0], State::Failed);
        // Still above it when the time is over.
        assert_eq!(states(0, &[(0, 130), (200, 81)])[0], State::Failed);
        assert_eq!(states(0, &[(0, 130), (80, 81)])[0], State::Missing);
        // Nobody saw it at 130 °F.
        assert_eq!(states(0, &[(0, 120), (60, 80), (200, 40)])[0], State::Missing);
        assert_eq!(states(0, &[]), [State::Missing; 3]);
    }

    #[test]
    fn coming_up_takes_not_more_than_six_hours() {
        assert_eq!(come_up(&log(&[(0, 50), (360, 130), (400, 150)])).state, State::Met);
        assert_eq!(come_up(&log(&[(0, 50), (361, 130), (400, 150)])).state, State::Failed);
    }
}
