//! Readings and checks: the value with its unit, the instrument, and the limit that was in force.

use std::collections::BTreeMap;

use super::{Fills, body};
use crate::checks::entry::{Against, CheckRecorded, ReadingTaken};
use crate::error::Result;
use crate::packet::lines::{Said, Told};
use crate::packet::paper::{Column, Row};

const COLUMNS: [Column; 8] = [
    Column::figure("Line", 5),
    Column::new("Time of the event", 15),
    Column::new("Time of the entry", 7),
    Column::new("Of what", 22),
    Column::figure("Value", 9),
    Column::new("Limit then in force", 36),
    Column::new("Instrument", 14),
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

/// "coolers, at most 4.0 °C: met"
fn in_force(told: Told, reading: &ReadingTaken, limit: &Against) -> String {
    let word = if limit.met(reading.value) { "met" } else { "NOT MET" };
    format!("{}, {}: {word}", limit.limit.name, limit.band(told.shop.system))
}

const IN_FORCE: [Column; 5] = [
    Column::new("Limit", 22),
    Column::new("Value", 18),
    Column::new("Where it comes from", 45),
    Column::figure("Held against it", 9),
    Column::figure("Not met", 7),
];

/// The limits that readings were held against, each as it was then.
#[derive(Default)]
pub struct InForce(BTreeMap<[String; 3], (usize, usize)>);

impl Fills for InForce {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        let Some(check) = body::<CheckRecorded>(said)?.filter(|_| said.read.struck.is_none()) else {
            return Ok(());
        };
        for limit in check.against {
            let met = limit.met(check.reading.value);
            let limit = [limit.limit.name.clone(), limit.band(told.shop.system), limit.source];
            let (held, missed) = self.0.entry(limit).or_default();
            *held += 1;
            *missed += usize::from(!met);
        }
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        let rows = self.0.into_iter().map(|([name, band, source], (held, missed))| Row {
            cells: vec![name, band, source, held.to_string(), missed.to_string()],
            struck: None,
        });
        (IN_FORCE.to_vec(), rows.collect())
    }
}
