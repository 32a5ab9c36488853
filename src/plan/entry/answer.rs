//! What is recorded of a plan's checks besides measured readings: a yes item by item, a check that was missed, and somebody
//! watching how a check is made.

use serde::{Deserialize, Serialize};
use time::OffsetDateTime;
use uuid::Uuid;

use super::document::{Asks, PlannedCheck};
use crate::book::{Effects, Entry, Line, Say};
use crate::deviations::{Opened, Subject};
use crate::error::{Errors, Refusal};
use crate::ids::{DeviationId, LotId, Named, PlannedCheckId};

/// How one item was found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Item {
    /// Empty where the check asks one thing only.
    pub name: String,
    pub yes: bool,
    /// What was seen, and what was done where it was not in order.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub words: String,
}

/// A check that is answered and not measured. `check.answered`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckAnswered {
    pub check: Named<PlannedCheckId>,
    pub subject: Subject,
    pub question: String,
    pub items: Vec<Item>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deviation: Option<Opened>,
}

impl Entry for CheckAnswered {
    const KIND: &'static str = "check.answered";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.check.id).about(self.subject.on().id());
        match &self.deviation {
            Some(opened) => opened.speak(effects),
            None => effects,
        }
    }

    fn line(&self, _say: &Say) -> Line {
        let not: Vec<String> = self.items.iter().filter(|item| !item.yes).map(Item::said).collect();
        let line = Line::new(format!("{}, {}", self.check.name, self.subject.name()));
        if not.is_empty() {
            let words: Vec<String> =
                self.items.iter().filter(|item| !item.words.is_empty()).map(Item::said).collect();
            let words = if words.is_empty() { String::new() } else { format!(": {}", words.join("; ")) };
            line.why(format!("{}{words}", self.question)).figure(self.figure())
        } else {
            line.why(not.join("; ")).figure(self.figure()).alarm("not in order")
        }
    }
}

impl Item {
    fn said(&self) -> String {
        match (self.name.is_empty(), self.words.is_empty()) {
            (true, _) => self.words.clone(),
            (false, true) => self.name.clone(),
            (false, false) => format!("{}: {}", self.name, self.words),
        }
    }
}

impl CheckAnswered {
    /// Whether everything was in order.
    pub fn yes(&self) -> bool {
        self.items.iter().all(|item| item.yes)
    }

    /// "yes", "no", "5 of 6 in order"
    fn figure(&self) -> String {
        match (self.items.len(), self.items.iter().filter(|item| item.yes).count()) {
            (1, 1) => "yes".into(),
            (1, _) => "no".into(),
            (all, yes) => format!("{yes} of {all} in order"),
        }
    }
}

/// An item that is not in order says what was found and done; it opens a deviation that holds `lots`.
pub fn answer(
    check: &PlannedCheck,
    subject: Subject,
    items: Vec<Item>,
    lots: Vec<Named<LotId>>,
    entry: Uuid,
) -> Result<CheckAnswered, Errors> {
    let mut errors = Errors::default();
    let Asks::Answered { question, .. } = &check.asks else {
        return Err(Refusal::of("This check is measured. Record its reading.").into());
    };
    for item in items.iter().filter(|item| !item.yes && item.words.is_empty()) {
        let what = if item.name.is_empty() { "it".to_owned() } else { format!("\"{}\"", item.name) };
        errors.push(Refusal::at("words", format!("Say what was found at {what} and what was done.")));
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    let not: Vec<String> = items.iter().filter(|item| !item.yes).map(Item::said).collect();
    let deviation = (!not.is_empty()).then(|| Opened {
        deviation: DeviationId::made_by(entry),
        what: format!("{}, {}: {}", check.name, subject.name(), not.join("; ")),
        lots,
    });
    Ok(CheckAnswered { check: check.named(), subject, question: question.clone(), items, deviation })
}

/// A check that was due and was not made in time. `check.missed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckMissed {
    pub check: Named<PlannedCheckId>,
    pub subject: Subject,
    /// From when on it was missing: when it was last made, or first asked for.
    #[serde(with = "time::serde::rfc3339")]
    pub from: OffsetDateTime,
    /// Until it was made again, or until this was written.
    #[serde(with = "time::serde::rfc3339")]
    pub until: OffsetDateTime,
    /// How often it was not made.
    pub times: u32,
    pub opened: Opened,
}

impl Entry for CheckMissed {
    const KIND: &'static str = "check.missed";

    fn effects(&self) -> Effects {
        self.opened.speak(Effects::none().about(self.check.id).about(self.subject.on().id()))
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Missed: {}, {}", self.check.name, self.subject.name()))
            .why(self.opened.what.clone())
            .figure(if self.times == 1 { "once".to_owned() } else { format!("{} times", self.times) })
            .alarm("missed")
    }
}

/// Somebody watched how a check is made (9 CFR 417.4(a)(2)(ii)). `monitoring.observed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MonitoringObserved {
    pub check: Named<PlannedCheckId>,
    /// Who made the check.
    pub who: Named<crate::ids::PersonId>,
    pub in_order: bool,
    pub words: String,
}

impl Entry for MonitoringObserved {
    const KIND: &'static str = "monitoring.observed";

    fn effects(&self) -> Effects {
        Effects::none().about(self.check.id).about(self.who.id)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("Watched {} make the check {}", self.who.name, self.check.name))
            .why(self.words.clone());
        if self.in_order { line } else { line.alarm("not as planned") }
    }
}

/// Nobody watches themselves.
pub fn observe(
    seen: MonitoringObserved,
    signer: crate::ids::PersonId,
) -> Result<MonitoringObserved, Refusal> {
    if seen.who.id == signer {
        return Err(Refusal::at("who", "Somebody else watches a check than who makes it."));
    }
    Ok(seen)
}
