//! A line of the book as a packet prints it: when it happened, when it was written, and what it says.

use time::OffsetDateTime;

use super::paper::{Column, Row};
use crate::book::Kinds;
use crate::book::db::Read;
use crate::error::Result;
use crate::measure::{clock, day_year};
use crate::web::Shop;

/// How the shop says days, times and figures.
#[derive(Clone, Copy)]
pub struct Told<'a> {
    pub shop: &'a Shop,
    pub kinds: &'a Kinds,
}

/// A line with the words that its kind has for it.
pub struct Said<'a> {
    pub read: &'a Read,
    pub what: String,
    pub why: String,
    pub figure: String,
}

impl<'a> Told<'a> {
    pub fn line(self, read: &'a Read) -> Result<Said<'a>> {
        let line = self.kinds.read(&read.kind, &read.body)?.line(&self.shop.say());
        let what = match line.alarm {
            Some(word) => format!("{} ({word})", line.what),
            None => line.what,
        };
        Ok(Said { read, what, why: line.why, figure: line.figure })
    }

    /// "25 Nov 2026 07:20"
    pub fn at(self, at: OffsetDateTime) -> String {
        format!("{} {}", day_year(self.shop.date(at)), clock(self.shop.zone.local(at)))
    }

    pub fn happened(self, read: &Read) -> String {
        self.at(read.at.happened_at)
    }

    /// The time alone where it was written on the day on which it happened.
    pub fn written(self, read: &Read) -> String {
        let (happened, written) = (read.at.happened_at, read.at.recorded_at);
        if self.shop.date(happened) == self.shop.date(written) {
            clock(self.shop.zone.local(written))
        } else {
            self.at(written)
        }
    }

    /// What stands under a line that was struck.
    pub fn struck(self, read: &Read) -> Option<String> {
        let by = read.struck.as_ref()?;
        Some(format!("struck {} by {}, line {}: {}", self.at(by.at), by.initials, by.seq, by.reason))
    }

    /// A row of any table: the cells, struck where the line is.
    pub fn row(self, read: &Read, cells: Vec<String>) -> Row {
        Row { cells, struck: self.struck(read) }
    }
}

/// The columns of a table of lines.
pub const COLUMNS: [Column; 7] = [
    Column::figure("Line", 5),
    Column::new("Happened", 15),
    Column::new("Written", 7),
    Column::new("What", 25),
    Column::new("How and why", 38),
    Column::figure("Figure", 12),
    Column::new("By", 5),
];

/// A row of a table of lines.
pub fn row(told: Told, said: &Said) -> Row {
    let read = said.read;
    let cells = vec![
        read.at.seq.to_string(),
        told.happened(read),
        told.written(read),
        said.what.clone(),
        said.why.clone(),
        said.figure.clone(),
        read.initials.clone(),
    ];
    told.row(read, cells)
}
