//! Each deviation with its whole story: what was found, the lots that it held, the four parts, and what was decided of each.

use std::collections::BTreeMap;

use serde_json::Value;

use super::{Fills, body};
use crate::deviations::entry::{Decision, DeviationClosed, DeviationCorrected, Opened, Part};
use crate::error::Result;
use crate::ids::DeviationId;
use crate::packet::lines::{Said, Told};
use crate::packet::paper::{Column, Row};

const COLUMNS: [Column; 6] = [
    Column::new("Deviation", 24),
    Column::new("Part", 16),
    Column::new("What is written", 42),
    Column::new("When", 15),
    Column::new("By", 5),
    Column::figure("Line", 5),
];

/// An entry that opens a deviation carries it in one of these fields.
const FIELDS: [&str; 2] = ["deviation", "opened"];

/// The rows of each deviation, in the order in which they were opened.
#[derive(Default)]
pub struct Deviations(BTreeMap<DeviationId, (i64, Vec<Row>)>);

impl Fills for Deviations {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        if let Some(corrected) = body::<DeviationCorrected>(said)? {
            for part in Part::ALL {
                let words = corrected.parts.of(part);
                if !words.is_empty() {
                    self.row(
                        told,
                        said,
                        corrected.deviation,
                        &corrected.what,
                        part.name(!corrected.unforeseen),
                        words.to_owned(),
                    );
                }
            }
        } else if let Some(closed) = body::<DeviationClosed>(said)? {
            for decision in Decision::ALL {
                let of_it = closed.lots.iter().filter(|decided| decided.decision == decision);
                let codes: Vec<&str> = of_it.map(|decided| decided.lot.name.as_str()).collect();
                if !codes.is_empty() {
                    let words = format!("{}: {}", decision.decided(), codes.join(", "));
                    self.row(told, said, closed.deviation, &closed.what, "Disposition", words);
                }
            }
            self.row(told, said, closed.deviation, &closed.what, "Closed", closed.words.clone());
        } else if let Some(opened) = opened(said) {
            let words = format!("{}. {}", said.what, said.why);
            self.row(told, said, opened.deviation, &opened.what, "Found", words);
            let held: Vec<&str> = opened.lots.iter().map(|lot| lot.name.as_str()).collect();
            let held = if held.is_empty() { "no lot".into() } else { held.join(", ") };
            self.row(told, said, opened.deviation, &opened.what, "Lots on hold for it", held);
        }
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        let mut stories: Vec<(i64, Vec<Row>)> = self.0.into_values().collect();
        stories.sort_by_key(|(first, _)| *first);
        (COLUMNS.to_vec(), stories.into_iter().flat_map(|(_, rows)| rows).collect())
    }
}

/// What a line opens. Where a field of that name is something else, it opens nothing.
fn opened(said: &Said) -> Option<Opened> {
    let body: Value = serde_json::from_str(&said.read.body).ok()?;
    FIELDS.iter().find_map(|field| serde_json::from_value(body.get(field)?.clone()).ok())
}

impl Deviations {
    fn row(&mut self, told: Told, said: &Said, of: DeviationId, what: &str, part: &str, words: String) {
        let cells = vec![
            what.to_owned(),
            part.to_owned(),
            words,
            told.happened(said.read),
            said.read.initials.clone(),
            said.read.at.seq.to_string(),
        ];
        let (_, rows) = self.0.entry(of).or_insert((said.read.at.seq.0, Vec::new()));
        rows.push(told.row(said.read, cells));
    }
}
