//! Heating: temperature in every part, and time.

use rust_decimal::Decimal;

use super::{About, Condition, Log, State, fahrenheit, in_fahrenheit, long};

/// How long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Least {
    Minutes(u16),
    AtOnce,
}

impl Least {
    /// In minutes.
    pub fn minutes(self) -> Decimal {
        match self {
            Self::Minutes(minutes) => minutes.into(),
            Self::AtOnce => Decimal::ZERO,
        }
    }

    fn words(self) -> String {
        match self {
            Self::AtOnce => "an instant".into(),
            Self::Minutes(minutes) if minutes >= 60 => {
                format!("{} h", (Decimal::from(minutes) / Decimal::from(60)).normalize())
            }
            Self::Minutes(minutes) => format!("{minutes} min"),
        }
    }
}

/// The coldest part at least this warm, for so long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeatingRow {
    pub degrees: i32,
    pub least: Least,
}

const fn row(degrees: i32, minutes: u16) -> HeatingRow {
    HeatingRow { degrees, least: Least::Minutes(minutes) }
}

/// 9 CFR 318.10(c)(1), edition of 1998, in °F.
pub const HEATING: [HeatingRow; 13] = [
    row(120, 1_260),
    row(122, 570),
    row(124, 270),
    row(126, 120),
    row(128, 60),
    row(130, 30),
    row(132, 15),
    row(134, 6),
    row(136, 3),
    row(138, 2),
    row(140, 1),
    row(142, 1),
    HeatingRow { degrees: 144, least: Least::AtOnce },
];

/// The row that is met, or else the one that the readings come nearest to. `come_up` is met for what is cured or fermented;
/// else the meat goes from 60 °F to 120 °F within 2 hours (from memory, to be confirmed).
pub fn heating(log: Option<&Log>, cured: bool) -> Vec<Condition> {
    let needed = |row: &HeatingRow| format!("{} at {}", row.least.words(), in_fahrenheit(row.degrees));
    let all = Condition::new(
        About::Heating,
        "time and temperature",
        "the coldest part at a temperature of the table for its time: 21 h at 120 °F (48.9 °C) to an instant at 144 °F (62.2 °C)",
    );
    let Some(log) = log else { return vec![all, come_up(None, cured)] };
    let held = HEATING.iter().filter_map(|row| {
        let reached = log.warmest()?.value >= fahrenheit(row.degrees);
        let minutes = log.longest_at_least(fahrenheit(row.degrees))?;
        reached.then_some((row, minutes))
    });
    let nearest = held.min_by_key(|(row, minutes)| (row.least.minutes() - *minutes).max(Decimal::ZERO));
    let time = match nearest {
        None => all.found("never as warm as 120 °F (48.9 °C)", State::Missing),
        Some((row, minutes)) => {
            let state = if minutes >= row.least.minutes() { State::Met } else { State::Missing };
            let found = format!("{} at or above {}", short(minutes), in_fahrenheit(row.degrees));
            Condition::new(About::Heating, "time and temperature", needed(row)).found(found, state)
        }
    };
    vec![time, come_up(Some(log), cured)]
}

fn short(minutes: Decimal) -> String {
    if minutes < Decimal::from(120) { format!("{} min", super::cut_off(minutes, 1)) } else { long(minutes) }
}

/// Not over 2 h from 60 °F to 120 °F, unless it is cured or fermented.
fn come_up(log: Option<&Log>, cured: bool) -> Condition {
    let condition = Condition::new(
        About::Heating,
        "coming up",
        "from 60 °F (15.6 °C) to 120 °F (48.9 °C) in not more than 2 h, unless cured or fermented (from memory, to be confirmed)",
    );
    if cured {
        return condition.found("cured or fermented", State::Met);
    }
    let Some(log) = log else { return condition };
    let samples = log.samples();
    let warm = samples.iter().position(|sample| sample.value >= fahrenheit(120));
    let Some(warm) = warm else { return condition };
    let cold = samples[..warm].iter().rev().find(|sample| sample.value <= fahrenheit(60));
    match cold {
        None => condition.found("no reading at or below 60 °F before it", State::Missing),
        Some(cold) => {
            let minutes = super::super::cold::minutes(samples[warm].at - cold.at);
            condition.found(short(minutes), State::of(minutes <= Decimal::from(120)))
        }
    }
}
