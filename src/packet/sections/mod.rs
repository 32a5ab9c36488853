//! The sections of a packet. What a section needs more of than its lines say has columns of its own; every other one is the
//! lines of some kinds, told by the beginning of their names. At the end stands every line, whatever its kind.

mod deviations;
mod monitoring;
mod release;
mod stock;
mod weights;

use std::collections::BTreeSet;

use super::lines::{self, Said, Told};
use super::paper::{Column, Row};
use crate::book::Seq;
use crate::error::Result;

/// A table of a packet.
#[derive(Debug, Clone)]
pub struct Section {
    /// The name of its file.
    pub key: &'static str,
    pub name: &'static str,
    /// What is said above it.
    pub about: &'static str,
    pub columns: Vec<Column>,
    pub rows: Vec<Row>,
}

/// A table that is filled line by line, in the order of the book.
trait Fills: Send {
    /// Takes what concerns it of a line.
    fn see(&mut self, told: Told, said: &Said) -> Result<()>;
    /// Its columns and rows, when all lines were seen.
    fn done(self: Box<Self>, told: Told) -> (Vec<Column>, Vec<Row>);
}

/// The lines of some kinds.
struct Lines {
    /// A line is in it when the name of its kind begins with one of these.
    kinds: &'static [&'static str],
    rows: Vec<Row>,
}

impl Fills for Lines {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        if self.kinds.iter().any(|kind| said.read.kind.starts_with(kind)) {
            self.rows.push(lines::row(told, said));
        }
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        (lines::COLUMNS.to_vec(), self.rows)
    }
}

/// Certain lines, whatever their kinds.
struct These {
    lines: BTreeSet<Seq>,
    rows: Vec<Row>,
}

impl Fills for These {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        if self.lines.contains(&said.read.at.seq) {
            self.rows.push(lines::row(told, said));
        }
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        (lines::COLUMNS.to_vec(), self.rows)
    }
}

/// A section before it is filled.
struct Open {
    key: &'static str,
    name: &'static str,
    about: &'static str,
    fills: Box<dyn Fills>,
}

/// All sections of a packet, being filled.
pub struct Sections(Vec<Open>);

impl Sections {
    /// In the order in which they stand. `sanitation` are the lines of cleaning: which check of a plan is one, the line alone does
    /// not say.
    pub fn new(sanitation: BTreeSet<Seq>) -> Self {
        let lines = |key, name, kinds| Open {
            key,
            name,
            about: "",
            fills: Box::new(Lines { kinds, rows: Vec::new() }),
        };
        Self(vec![
            lines("plan", "The plan", &["plan.", "programme.", "hazard."]),
            lines("making", "Recipe version and batch", &["recipe.", "batch.begun", "family.", "product."]),
            Open {
                key: "lots",
                name: "Lots that came through the door",
                about: "Each lot with the docket that it came on, the animal, and the supplier's own lot.",
                fills: Box::new(stock::Lots::default()),
            },
            lines("block", "At the block", &["breakdown.", "cut.", "source."]),
            Open {
                key: "went-in",
                name: "What went in",
                about: "The target is what was still to be weighed of a line of the recipe when it was weighed.",
                fills: Box::new(weights::WentIn::default()),
            },
            lines(
                "stages",
                "Stages and places",
                &["batch.staged", "lots.moved", "freezing.", "parasite-control."],
            ),
            Open {
                key: "monitoring",
                name: "Monitoring: readings and checks",
                about: "Each limit stands as it was in force when the reading was taken. Exactly at a limit is met.",
                fills: Box::new(monitoring::Monitoring::default()),
            },
            Open {
                key: "in-force",
                name: "Limits that were in force, and where they come from",
                about: "Readings that were struck are not counted.",
                fills: Box::new(monitoring::InForce::default()),
            },
            lines(
                "answers",
                "Checks of the plan: answered, missed, observed",
                &["check.answered", "check.missed", "monitoring."],
            ),
            lines("fermentation", "Fermentation", &["fermentation"]),
            lines("loggers", "Samples of data loggers, sealed", &["samples.", "logger."]),
            Open {
                key: "weigh-ins",
                name: "Drying: weigh-ins by piece",
                about: "A loss is green weight less weight, as per cent of green weight.",
                fills: Box::new(weights::WeighIns::default()),
            },
            Open {
                key: "deviations",
                name: "Deviations, corrective action, disposition",
                about: "The four parts are those of 9 CFR 417.3(a), and of 417.3(b) where no plan foresees what was found.",
                fills: Box::new(deviations::Deviations::default()),
            },
            lines("holds", "Holds", &["lot.held", "hold."]),
            lines("instruments", "Instruments and calibration", &["instrument.", "calibration"]),
            Open {
                key: "sanitation",
                name: "Sanitation",
                about: "The checks of the procedures for sanitation (9 CFR 416.11 to 416.16), and every strength of a sanitizer.",
                fills: Box::new(These { lines: sanitation, rows: Vec::new() }),
            },
            lines("limits", "Limits as they were written", &["limit.", "curing-limit.", "limits."]),
            lines("reviews", "Reviews", &["records.reviewed", "review", "observation."]),
            Open {
                key: "release",
                name: "Release: each criterion as it was met",
                about: "These are the criteria that this shop has written down. Local codes, the regulator and a process authority \
                        decide what may be sold.",
                fills: Box::new(release::Release::default()),
            },
            lines(
                "dispatches",
                "Packs, dispatches and discards",
                &["lot.packed", "lots.dispatched", "lots.discarded", "customer."],
            ),
            lines("papers", "Papers attached", &["paper."]),
            Open {
                key: "struck",
                name: "Lines that were struck",
                about: "A struck line stays readable, with a line through it and who struck it, when and why.",
                fills: Box::new(Struck(Vec::new())),
            },
            Open {
                key: "lines",
                name: "Every line of the book about it",
                about: "All that the tables above rest on, in the order of the book. Nothing of it was left out or changed.",
                fills: Box::new(Lines { kinds: &[""], rows: Vec::new() }),
            },
        ])
    }

    pub fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        self.0.iter_mut().try_for_each(|open| open.fills.see(told, said))
    }

    pub fn done(self, told: Told) -> Vec<Section> {
        let done = self.0.into_iter().map(|Open { key, name, about, fills }| {
            let (columns, rows) = fills.done(told);
            Section { key, name, about, columns, rows }
        });
        done.collect()
    }
}

/// Every line that was struck.
struct Struck(Vec<Row>);

impl Fills for Struck {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        if said.read.struck.is_some() {
            self.0.push(lines::row(told, said));
        }
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        (lines::COLUMNS.to_vec(), self.0)
    }
}

/// The body of a line as the type of its kind.
fn body<T: crate::book::Entry>(said: &Said) -> Result<Option<T>> {
    if said.read.kind != T::KIND {
        return Ok(None);
    }
    Ok(Some(serde_json::from_str(&said.read.body).map_err(anyhow::Error::from)?))
}
