//! A calibration, and what follows from one that failed.

use serde::{Deserialize, Serialize};
use time::OffsetDateTime;
use uuid::Uuid;

use super::known::{Known, Shown};
use crate::book::{Effects, Entry, Line, Say, Seq};
use crate::deviations::Opened;
use crate::error::Refusal;
use crate::ids::{DeviationId, InstrumentId, LotId, Named};
use crate::setup::entry::Measures;

/// One thing that the instrument was held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Point {
    #[serde(flatten)]
    pub against: Known,
    /// Before anything was done to it.
    pub found: Shown,
    /// After it was adjusted; none where nothing was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<Shown>,
}

impl Point {
    pub fn found_met(&self) -> bool {
        self.against.passes(self.found)
    }

    pub fn left_met(&self) -> bool {
        self.against.passes(self.left.unwrap_or(self.found))
    }
}

/// What an instrument showed against what is known. `calibration.recorded`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CalibrationRecorded {
    pub instrument: Named<InstrumentId>,
    pub points: Vec<Point>,
    /// What was done about it, where it was off.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// When it last passed; none where it never did.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub passed_before: Option<OffsetDateTime>,
    /// The lines of the book that rest on it since then, where it failed as it was found.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub in_question: Vec<Seq>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deviation: Option<Opened>,
}

impl CalibrationRecorded {
    /// As it was found, every point was within its tolerance.
    pub fn found_met(&self) -> bool {
        self.points.iter().all(Point::found_met)
    }

    /// As it was left, every point was within its tolerance.
    pub fn left_met(&self) -> bool {
        self.points.iter().all(Point::left_met)
    }

    /// `melting ice`, `buffers pH 7.00 and pH 4.01`.
    pub fn against(&self) -> String {
        let names: Vec<String> = self.points.iter().map(|point| point.against.name()).collect();
        names.join(" and ")
    }
}

impl Entry for CalibrationRecorded {
    const KIND: &'static str = "calibration.recorded";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.instrument.id);
        match &self.deviation {
            Some(opened) => opened.speak(effects),
            None => effects,
        }
    }

    fn line(&self, say: &Say) -> Line {
        let told = |point: &Point| {
            let left =
                point.left.map_or_else(String::new, |left| format!(", left at {}", left.text(say.system)));
            format!("{} showed {}{left}", point.against.name(), point.found.text(say.system))
        };
        let mut why: Vec<String> = self.points.iter().map(told).collect();
        match self.in_question.len() {
            0 => {}
            1 => why.push("1 earlier line in question".into()),
            n => why.push(format!("{n} earlier lines in question")),
        }
        if !self.note.is_empty() {
            why.push(self.note.clone());
        }
        let line = Line::new(format!("{} calibrated", self.instrument.name)).why(why.join("; "));
        match (self.found_met(), self.left_met()) {
            (true, true) => line,
            (_, true) => line.alarm("failed as found"),
            (_, false) => line.alarm("failed"),
        }
    }
}

/// What rests on an instrument since it last passed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Flagged {
    pub passed_before: Option<OffsetDateTime>,
    pub lines: Vec<Seq>,
    /// Those that still weigh something.
    pub lots: Vec<Named<LotId>>,
}

/// The points are of what the instrument measures. One that failed as it was found says what was done, puts the lines that
/// rest on it in question, and opens a deviation that holds their lots. `entry` is the id of the entry that it will be.
pub fn record(
    instrument: Named<InstrumentId>,
    measures: Measures,
    points: Vec<Point>,
    note: String,
    flagged: Flagged,
    entry: Uuid,
) -> Result<CalibrationRecorded, Refusal> {
    if points.is_empty() {
        return Err(Refusal::of("Hold the instrument against one known thing at least."));
    }
    if points.iter().any(|point| point.against.measures() != measures) {
        return Err(Refusal::of("That is not what this instrument measures."));
    }
    if let Some(why) = points.iter().find_map(|point| point.against.fits().err()) {
        return Err(Refusal::at("against", why));
    }
    let passed_before = flagged.passed_before;
    let mut recorded = CalibrationRecorded {
        instrument,
        points,
        note,
        passed_before,
        in_question: Vec::new(),
        deviation: None,
    };
    if recorded.found_met() {
        return Ok(recorded);
    }
    if recorded.note.is_empty() {
        return Err(Refusal::at("note", "It failed as it was found. Say what was done with it."));
    }
    let what = format!("{} failed against {}", recorded.instrument.name, recorded.against());
    recorded.in_question = flagged.lines;
    recorded.deviation = Some(Opened { deviation: DeviationId::made_by(entry), what, lots: flagged.lots });
    Ok(recorded)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Celsius, TemperatureUnit, UnitSystem};

    const ENTRY: Uuid = Uuid::from_u128(9);

    fn ice(found: i32, left: Option<i32>) -> Point {
        let shown = |hundredths| Shown::Temperature(Celsius::hundredths(hundredths));
        Point {
            against: Known::Ice { scale: TemperatureUnit::Celsius },
            found: shown(found),
            left: left.map(shown),
        }
    }

    fn with(point: Point, note: &str) -> Result<CalibrationRecorded, Refusal> {
        let probe = Named::new(InstrumentId(Uuid::from_u128(1)), "probe 2");
        let flagged = Flagged {
            passed_before: None,
            lines: vec![Seq(12), Seq(15)],
            lots: vec![Named::new(LotId(Uuid::from_u128(3)), "26329-02")],
        };
        record(probe, Measures::Temperature, vec![point], note.into(), flagged, ENTRY)
    }

    #[test]
    fn one_that_passes_puts_nothing_in_question() {
        let passed = with(ice(100, None), "").expect("recorded");
        assert!(passed.found_met() && passed.left_met());
        assert!(passed.in_question.is_empty() && passed.deviation.is_none());
        assert!(Entry::effects(&passed).holds.is_empty());
    }

    #[test]
    fn one_that_fails_as_found_says_what_was_done_and_holds_what_rests_on_it() {
        assert_eq!(with(ice(101, Some(0)), "").expect_err("refused").field, "note");
        let failed = with(ice(101, Some(0)), "Adjusted.").expect("recorded");
        assert!(!failed.found_met() && failed.left_met());
        assert_eq!(failed.in_question, [Seq(12), Seq(15)]);
        let held = Entry::effects(&failed).holds;
        assert_eq!(held.len(), 1);
        assert_eq!(held[0].1, "probe 2 failed against melting ice");
        let line = failed.line(&Say { system: UnitSystem::Metric });
        assert_eq!(line.alarm, Some("failed as found"));
    }

    #[test]
    fn one_that_is_left_failing_is_called_so() {
        let failed = with(ice(150, None), "Laid aside.").expect("recorded");
        assert!(!failed.left_met());
        assert_eq!(failed.line(&Say { system: UnitSystem::Metric }).alarm, Some("failed"));
    }

    #[test]
    fn a_thermometer_is_not_held_against_a_buffer() {
        let point = Point {
            against: Known::Buffer { ph: crate::measure::Ph::hundredths(700) },
            found: Shown::Ph(crate::measure::Ph::hundredths(700)),
            left: None,
        };
        assert!(with(point, "").is_err());
    }

    #[test]
    fn a_calibration_reads_back_from_its_body() {
        let failed = with(ice(101, Some(0)), "Adjusted.").expect("recorded");
        let body = serde_json::to_string(&failed).expect("a body");
        assert_eq!(serde_json::from_str::<CalibrationRecorded>(&body).expect("reads back"), failed);
    }
}
