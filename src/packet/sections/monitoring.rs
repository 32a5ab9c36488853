//! Readings and checks: the value with its unit, the instrument, and the limit that was in force.

use super::{Fills, body};
use crate::checks::entry::{Against, CheckRecorded, ReadingTaken};
use crate::error::Result;
use crate::packet::lines::{Said, Told};
use crate::packet::paper::{Column, Row};

const COLUMNS: [Column; 8] = [
    Column::figure("Line", 5),
    Column::new("Time of the event", 11),
    Column::new("Time of the entry", 11),
    Column::new("Of what", 22),
    Column::figure("Value", 10),
    Column::new("Limit then in force", 34),
    Column::new("Instrument", 13),
    Column::new("By", 5),
];

#[derive(Default)]
pub struct Monitoring(Vec<Row>);

impl Fills for Monitoring {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        let (reading, against) = match (body::<ReadingTaken>(said)?, body::<CheckRecorded>(said)?) {
            (Some(reading), _) => (reading, Vec::new()),
            (None, Some(check)) => (check.reading, check.against),
            (None, None) => return Ok(()),
        };
        let limits: Vec<String> = against.iter().map(|limit| in_force(told, &reading, limit)).collect();
        let cells = vec![
            said.read.at.seq.to_string(),
            told.happened(said.read),
            told.written(said.read),
            format!("{} of {}", reading.value.quantity().name(), reading.subject.name()),
            reading.value.text(told.shop.system),
            if limits.is_empty() { "none".into() } else { limits.join("\n") },
            reading.instrument.map_or_else(|| "none named".into(), |with| with.name),
            said.read.initials.clone(),
        ];
        self.0.push(told.row(said.read, cells));
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        (COLUMNS.to_vec(), self.0)
    }
}

/// "coolers, at most 4.0 °C: met (common practice)"
fn in_force(told: Told, reading: &ReadingTaken, limit: &Against) -> String {
    let word = if limit.met(reading.value) { "met" } else { "NOT MET" };
    format!("{}, {}: {word} ({})", limit.limit.name, limit.band(told.shop.system), limit.source)
}
