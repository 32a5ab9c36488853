//! Whose limits the shop holds itself to, and which rows of them it switched on.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::standards::limits::{Jurisdiction, Limit, Mark};

/// The shop holds itself to a jurisdiction's limits. `limits.adopted`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LimitsAdopted {
    pub jurisdiction: Jurisdiction,
}

impl Entry for LimitsAdopted {
    const KIND: &'static str = "limits.adopted";

    fn effects(&self) -> Effects {
        Effects::none()
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Limits of curing: {}", self.jurisdiction.word()))
            .why("batches that are begun from here on are held to them")
    }
}

/// A row that waits for the shop is switched on, or off again. `curing-limit.switched`
///
/// A row from memory is confirmed by the document that it was read in; a minimum is taken up for a reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CuringLimitSwitched {
    /// What the row is called in the shipped lists.
    pub key: String,
    pub name: String,
    /// "at most 150 ppm", as it stood in the list.
    pub band: String,
    pub on: bool,
    #[serde(default)]
    pub document: String,
    #[serde(default)]
    pub reason: String,
}

impl Entry for CuringLimitSwitched {
    const KIND: &'static str = "curing-limit.switched";

    fn line(&self, _say: &Say) -> Line {
        let by = [&self.document, &self.reason].into_iter().filter(|text| !text.is_empty());
        let by = by.map(String::as_str).collect::<Vec<_>>().join("; ");
        let what = if self.on { "in force" } else { "no longer in force" };
        Line::new(format!("Limit {what}: {}", self.name)).why(by).figure(self.band.clone())
    }
}

/// Only a row that waits is switched. To confirm one says the document; all else says why.
pub fn switch(
    switched: CuringLimitSwitched,
    row: &Limit,
    is_on: bool,
) -> Result<CuringLimitSwitched, Refusal> {
    if !row.waits() {
        return Err(Refusal::of("This row was read in its text and is in force; it waits for nothing."));
    }
    if switched.on == is_on {
        let what = if is_on { "in force already" } else { "not in force" };
        return Err(Refusal::of(format!("This row is {what}.")));
    }
    if switched.on && row.mark == Mark::ToBeConfirmed && switched.document.is_empty() {
        return Err(Refusal::at("document", "Name the document in which it was read, with its date."));
    }
    if !(switched.on && row.mark == Mark::ToBeConfirmed) && switched.reason.is_empty() {
        return Err(Refusal::at("reason", "Say why."));
    }
    Ok(switched)
}

/// `at most 156.25 ppm`, `96 to 144 ppm`, `none`.
pub fn band(limit: &Limit) -> String {
    match (limit.least, limit.most) {
        (_, Some(most)) if most.decimal().is_zero() => "none".into(),
        (Some(least), Some(most)) => format!("{least} to {most}\u{a0}ppm"),
        (Some(least), None) => format!("at least {least}\u{a0}ppm"),
        (None, Some(most)) => format!("at most {most}\u{a0}ppm"),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::standards::limits::shipped;

    fn row(of: Jurisdiction, key: &str) -> Limit {
        let set = shipped(of).expect("a list that reads");
        set.limits.into_iter().find(|limit| limit.key == key).expect("a row")
    }

    fn switched(on: bool, document: &str, reason: &str) -> CuringLimitSwitched {
        CuringLimitSwitched {
            key: "gb-nitrite".into(),
            name: "Nitrite added".into(),
            band: "at most 150 ppm".into(),
            on,
            document: document.into(),
            reason: reason.into(),
        }
    }

    #[test]
    fn a_row_from_memory_is_confirmed_by_the_document_that_it_was_read_in() {
        let row = row(Jurisdiction::GreatBritain, "gb-nitrite");
        assert_eq!(
            switch(switched(true, "", "the inspector said so"), &row, false).expect_err("no document").field,
            "document"
        );
        assert!(switch(switched(true, "legislation.gov.uk, 3 Nov 2026", ""), &row, false).is_ok());
        assert_eq!(switch(switched(false, "", ""), &row, true).expect_err("no reason").field, "reason");
        assert!(switch(switched(true, "again", ""), &row, true).is_err(), "it is on");
    }

    #[test]
    fn a_minimum_is_taken_up_for_a_reason_and_a_row_that_was_read_is_not_switched() {
        let minimum = row(Jurisdiction::UnitedStates, "us-refrigerated-minimum");
        assert_eq!(
            switch(switched(true, "a book", ""), &minimum, false).expect_err("no reason").field,
            "reason"
        );
        assert!(switch(switched(true, "", "we sell it chilled"), &minimum, false).is_ok());
        let read = row(Jurisdiction::UnitedStates, "us-comminuted-nitrite");
        assert!(switch(switched(false, "", "too strict"), &read, true).is_err());
    }

    #[test]
    fn a_band_says_its_ends() {
        assert_eq!(
            band(&row(Jurisdiction::UnitedStates, "us-bacon-pumped-nitrite")).replace('\u{a0}', " "),
            "96 to 144 ppm"
        );
        assert_eq!(band(&row(Jurisdiction::UnitedStates, "us-bacon-nitrate")), "none");
    }
}
