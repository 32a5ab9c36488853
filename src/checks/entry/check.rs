//! Readings, and checks: a reading held against the limits that are in force for it.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::limit::Against;
use super::value::Value;
use crate::book::{Effects, Entry, Line, Say};
use crate::deviations::entry::{Opened, Subject};
use crate::ids::{CheckId, DeviationId, InstrumentId, LotId, Named};
use crate::measure::UnitSystem;

/// A reading that no limit was in force for. `reading.taken`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingTaken {
    pub subject: Subject,
    #[serde(flatten)]
    pub value: Value,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<Named<InstrumentId>>,
}

impl ReadingTaken {
    fn speaks(&self) -> Effects {
        let effects = Effects::none().about(self.subject.on().id());
        match &self.instrument {
            Some(instrument) => effects.about(instrument.id),
            None => effects,
        }
    }

    /// `Temperature of cooler 1`
    fn what(&self) -> String {
        format!("{} of {}", self.value.quantity().name(), self.subject.name())
    }

    fn with(&self) -> String {
        self.instrument.as_ref().map_or_else(String::new, |with| format!("with {}", with.name))
    }
}

impl Entry for ReadingTaken {
    const KIND: &'static str = "reading.taken";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        self.speaks()
    }

    fn line(&self, say: &Say) -> Line {
        Line::new(self.what()).why(self.with()).figure(self.value.text(say.system))
    }
}

/// A reading held against the limits that were in force for it. `check.recorded`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckRecorded {
    pub check: CheckId,
    #[serde(flatten)]
    pub reading: ReadingTaken,
    /// As they were then.
    pub against: Vec<Against>,
    /// The deviation that it opens, where it is out of limits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deviation: Option<Opened>,
}

impl CheckRecorded {
    pub fn met(&self) -> bool {
        self.against.iter().all(|limit| limit.met(self.reading.value))
    }
}

impl Entry for CheckRecorded {
    const KIND: &'static str = "check.recorded";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = self.reading.speaks().opens(self.check);
        let effects = self.against.iter().fold(effects, |effects, limit| effects.about(limit.limit.id));
        match &self.deviation {
            Some(opened) => opened.speak(effects),
            None => effects,
        }
    }

    fn line(&self, say: &Say) -> Line {
        let limits: Vec<String> = self
            .against
            .iter()
            .map(|limit| {
                let word = if limit.met(self.reading.value) { "met" } else { "not met" };
                format!("{} ({}) {word}", limit.limit.name, limit.band(say.system))
            })
            .collect();
        let held = match &self.deviation {
            Some(opened) if opened.lots.len() == 1 => "; 1 lot on hold".into(),
            Some(opened) => format!("; {} lots on hold", opened.lots.len()),
            None => String::new(),
        };
        let with = self.reading.with();
        let with = if with.is_empty() { with } else { format!(", {with}") };
        let line = Line::new(self.reading.what())
            .why(format!("{}{held}{with}", limits.join(", ")))
            .figure(self.reading.value.text(say.system));
        if self.met() { line } else { line.alarm("out of limits") }
    }
}

/// What a reading becomes in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Recorded {
    Reading(ReadingTaken),
    Check(CheckRecorded),
}

/// A reading becomes a check where limits are in force for it. Out of limits it opens a deviation, which holds `lots`.
/// `entry` is the id of the entry that it will be.
pub fn record(
    reading: ReadingTaken,
    against: Vec<Against>,
    lots: Vec<Named<LotId>>,
    entry: Uuid,
    system: UnitSystem,
) -> Recorded {
    if against.is_empty() {
        return Recorded::Reading(reading);
    }
    let missed: Vec<String> =
        against.iter().filter(|limit| !limit.met(reading.value)).map(|limit| limit.band(system)).collect();
    let deviation = (!missed.is_empty()).then(|| Opened {
        deviation: DeviationId::made_by(entry),
        what: format!(
            "{} at {}, limit {}",
            reading.subject.name(),
            reading.value.text(system),
            missed.join(" and ")
        ),
        lots,
    });
    Recorded::Check(CheckRecorded { check: CheckId::made_by(entry), reading, against, deviation })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Role;
    use crate::ids::{LimitId, PlaceId};
    use crate::measure::Celsius;

    const SAY: Say = Say { system: UnitSystem::Metric };
    const ENTRY: Uuid = Uuid::from_u128(7);

    fn cooler(hundredths: i32) -> ReadingTaken {
        ReadingTaken {
            subject: Subject::Place(Named::new(PlaceId(Uuid::from_u128(1)), "cooler 1")),
            value: Value::Temperature(Celsius::hundredths(hundredths)),
            instrument: Some(Named::new(InstrumentId(Uuid::from_u128(2)), "probe 2")),
        }
    }

    fn at_most(id: u128, hundredths: i32) -> Against {
        Against {
            limit: Named::new(LimitId(Uuid::from_u128(id)), "coolers"),
            least: None,
            most: Some(Value::Temperature(Celsius::hundredths(hundredths))),
            source: "common practice".into(),
        }
    }

    fn lot() -> Named<LotId> {
        Named::new(LotId(Uuid::from_u128(3)), "26329-02")
    }

    fn check(hundredths: i32, against: Vec<Against>) -> CheckRecorded {
        match record(cooler(hundredths), against, vec![lot()], ENTRY, UnitSystem::Metric) {
            Recorded::Check(check) => check,
            Recorded::Reading(reading) => panic!("no check: {reading:?}"),
        }
    }

    #[test]
    fn without_a_limit_it_is_a_reading() {
        let recorded = record(cooler(350), vec![], vec![lot()], ENTRY, UnitSystem::Metric);
        assert_eq!(recorded, Recorded::Reading(cooler(350)));
    }

    #[test]
    fn a_check_within_its_limit_holds_nothing() {
        let check = check(400, vec![at_most(5, 400)]);
        assert!(check.met() && check.deviation.is_none());
        assert!(Entry::effects(&check).holds.is_empty());
        assert_eq!(check.line(&SAY).alarm, None);
    }

    #[test]
    fn a_check_out_of_limits_holds_the_lots_and_says_so() {
        let check = check(620, vec![at_most(5, 400)]);
        let effects = Entry::effects(&check);
        let reason = "cooler 1 at 6.2\u{a0}°C, limit at most 4.0\u{a0}°C";
        assert_eq!(effects.holds, [(lot().id, reason.to_owned())]);
        assert!(effects.about.contains(&(ENTRY, Role::Opens)));
        let line = check.line(&SAY);
        assert_eq!(line.alarm, Some("out of limits"));
        assert!(line.why.contains("1 lot on hold"), "{}", line.why);
    }

    #[test]
    fn of_two_limits_each_keeps_its_own_verdict() {
        let check = check(450, vec![at_most(5, 400), at_most(6, 500)]);
        assert!(!check.against[0].met(check.reading.value) && check.against[1].met(check.reading.value));
        assert!(!check.met());
    }

    #[test]
    fn a_check_reads_back_from_its_body() {
        let check = check(620, vec![at_most(5, 400)]);
        let body = serde_json::to_string(&check).expect("a body");
        assert!(body.contains(r#""quantity":"temperature","value":"6.20""#), "{body}");
        assert_eq!(serde_json::from_str::<CheckRecorded>(&body).expect("reads back"), check);
        let body = serde_json::to_string(&cooler(350)).expect("a body");
        assert_eq!(serde_json::from_str::<ReadingTaken>(&body).expect("reads back"), cooler(350));
    }
}
