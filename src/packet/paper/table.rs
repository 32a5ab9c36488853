//! Tables: columns by their parts of the width, rows that stay whole where a sheet has room for them.

use super::lay::{LINE, Layer, SIDE, Set, f32_of};
use super::{Face, Ink, Mark, PartId, PartKind, Row, Table};

const SIZE: f32 = 7.7;
const HEAD: f32 = 7.2;
/// Between columns.
const GAP: f32 = 7.0;
/// Above and below the words of a row.
const PAD: f32 = 2.6;
/// No cell is split so that fewer lines of it stand on a sheet.
const FEWEST: usize = 2;

const SAID: Set = Set { face: Face::Plain, size: SIZE, ink: Ink::Black };
const STRUCK: Set = Set { face: Face::Plain, size: SIZE, ink: Ink::Quiet };
const OF_STRIKE: Set = Set { face: Face::Strong, size: SIZE, ink: Ink::Black };
const HEADS: Set = Set { face: Face::Strong, size: HEAD, ink: Ink::Black };

/// Where a column stands.
#[derive(Debug, Clone, Copy)]
struct Lane {
    x: f32,
    width: f32,
    right: bool,
}

impl Layer<'_> {
    pub(super) fn table(&mut self, table: &Table) {
        let lanes = self.lanes(table);
        self.room_for(64.0);
        let whole = self.to.part(None, PartKind::Table);
        let heads = self.to.part(Some(whole), PartKind::Heads);
        let row = self.to.part(Some(heads), PartKind::Row);
        self.heads(table, &lanes, Some(row));
        let body = self.to.part(Some(whole), PartKind::Body);
        for row in &table.rows {
            self.row(table, &lanes, row, body);
        }
        self.down += 12.0;
    }

    fn lanes(&self, table: &Table) -> Vec<Lane> {
        let parts: f32 = table.columns.iter().map(|column| f32::from(column.part)).sum();
        let inner = self.inner_width() - GAP * f32_of(table.columns.len().saturating_sub(1));
        let mut x = SIDE;
        let lanes = table.columns.iter().map(|column| {
            let width = inner * f32::from(column.part) / parts;
            let lane = Lane { x, width, right: column.right };
            x += width + GAP;
            lane
        });
        lanes.collect()
    }

    /// The heads of the columns. Those of the first sheet belong to the table, the others are furniture of theirs.
    fn heads(&mut self, table: &Table, lanes: &[Lane], row: Option<PartId>) {
        let cells: Vec<Vec<String>> = table
            .columns
            .iter()
            .zip(lanes)
            .map(|(column, lane)| self.wrapped(column.head, HEADS, lane.width))
            .collect();
        let most = cells.iter().map(Vec::len).max().unwrap_or(1);
        let tall = f32_of(most) * HEAD * LINE;
        for (lines, lane) in cells.into_iter().zip(lanes) {
            let part = row.map(|row| self.to.part(Some(row), PartKind::ColumnHead));
            let above = tall - f32_of(lines.len()) * HEAD * LINE;
            self.cell(*lane, self.down + above, HEADS, &lines, part, false);
        }
        self.down += tall + PAD;
        self.rule(self.down, 0.9, Ink::Black);
        self.down += PAD;
    }

    fn row(&mut self, table: &Table, lanes: &[Lane], row: &Row, body: PartId) {
        let set = if row.struck.is_some() { STRUCK } else { SAID };
        let mut cells: Vec<Vec<String>> =
            row.cells.iter().zip(lanes).map(|(text, lane)| self.wrapped(text, set, lane.width)).collect();
        let note = row.struck.as_ref().map_or_else(Vec::new, |note| {
            let width = self.inner_width();
            self.wrapped(note, OF_STRIKE, width)
        });
        let part = self.to.part(Some(body), PartKind::Row);
        let parts: Vec<PartId> = cells.iter().map(|_| self.to.part(Some(part), PartKind::Cell)).collect();
        let most = cells.iter().map(Vec::len).max().unwrap_or(0);
        let tall = f32_of(most + note.len()) * SIZE * LINE + PAD + PAD;
        // A row that would fit on a sheet of its own is not split.
        if self.left() < tall && (tall < 500.0 || self.fits() < FEWEST) {
            self.go_on(table, lanes);
        }
        let mut done = 0;
        while done < most {
            let here = (most - done).min(self.fits().max(1));
            for ((lines, lane), part) in cells.iter_mut().zip(lanes).zip(&parts) {
                let here: Vec<String> = lines.drain(..here.min(lines.len())).collect();
                self.cell(*lane, self.down, set, &here, Some(*part), row.struck.is_some());
            }
            self.down += f32_of(here) * SIZE * LINE;
            done += here;
            if done < most {
                self.go_on(table, lanes);
            }
        }
        for line in note {
            let y = self.down + SIZE;
            self.words(SIDE, y, OF_STRIKE, line, parts.last().copied());
            self.down += SIZE * LINE;
        }
        self.down += PAD;
        self.rule(self.down, 0.3, Ink::Rule);
        self.down += PAD;
    }

    /// How many lines there is room for.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "lines of a sheet, not below none"
    )]
    fn fits(&self) -> usize {
        ((self.left() - PAD - PAD) / (SIZE * LINE)).floor().max(0.0) as usize
    }

    fn go_on(&mut self, table: &Table, lanes: &[Lane]) {
        self.turn();
        self.heads(table, lanes, None);
    }

    fn cell(&mut self, lane: Lane, top: f32, set: Set, lines: &[String], part: Option<PartId>, struck: bool) {
        let mut y = top + set.size;
        for line in lines {
            let wide = self.faces.width(set.face, set.size, line.trim_end());
            let x = if lane.right { lane.x + lane.width - wide } else { lane.x };
            self.words(x, y, set, line.clone(), part);
            if struck && wide > 0.0 {
                let middle = y - set.size * 0.27;
                self.marks.push(Mark::Rule {
                    from: (x, middle),
                    to: (x + wide, middle),
                    width: 0.7,
                    ink: Ink::Black,
                });
            }
            y += set.size * LINE;
        }
    }
}
