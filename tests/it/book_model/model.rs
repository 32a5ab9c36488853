//! What a careful person with pencil and paper would keep of lots, lines and strikes.

use std::collections::BTreeMap;

use flitchbook::ids::LotId;

/// A lot of the model.
#[derive(Debug, Clone)]
pub struct Lot {
    pub id: LotId,
    pub grams: i64,
    /// The lines that hold it and are not lifted.
    pub holds: Vec<usize>,
    pub struck: bool,
}

/// A line of the model: what it moved, by lot.
#[derive(Debug, Clone, Default)]
pub struct Line {
    pub seq: i64,
    pub moved: BTreeMap<usize, i64>,
    pub opened: Option<usize>,
    pub settled: Option<usize>,
    pub held: Option<usize>,
    pub lifted: Option<(usize, Vec<usize>)>,
    pub struck: bool,
}

impl Line {
    pub fn speaks_of(&self, lot: usize) -> bool {
        self.moved.contains_key(&lot)
            || [self.opened, self.settled, self.held].contains(&Some(lot))
            || self.lifted.as_ref().is_some_and(|(lifted, _)| *lifted == lot)
    }
}

/// What a careful person with pencil and paper would keep.
#[derive(Debug, Default)]
pub struct Model {
    pub lots: Vec<Lot>,
    pub lines: Vec<Line>,
}

impl Model {
    pub fn pick(&self, lot: usize) -> Option<usize> {
        (!self.lots.is_empty()).then(|| lot % self.lots.len())
    }

    pub fn usable(&self, lot: usize) -> bool {
        !self.lots[lot].struck && self.lots[lot].holds.is_empty()
    }

    pub fn write(&mut self, line: Line) {
        for (lot, grams) in &line.moved {
            self.lots[*lot].grams += grams;
        }
        let nr = self.lines.len();
        if let Some(lot) = line.held {
            self.lots[lot].holds.push(nr);
        }
        if let Some((lot, _)) = &line.lifted {
            self.lots[*lot].holds.clear();
        }
        self.lines.push(line);
    }

    /// A line can be struck while nobody has built upon it.
    pub fn can_strike(&self, nr: usize) -> bool {
        let line = &self.lines[nr];
        let mut later = self.lines[nr + 1..].iter().filter(|later| !later.struck);
        let in_the_way = later.any(|later| {
            line.opened.is_some_and(|lot| later.speaks_of(lot))
                || later.settled.is_some_and(|lot| line.moved.contains_key(&lot) || line.settled == Some(lot))
        });
        !line.struck && !in_the_way && line.moved.iter().all(|(lot, grams)| self.lots[*lot].grams >= *grams)
    }

    pub fn strike(&mut self, nr: usize) {
        let line = self.lines[nr].clone();
        for (lot, grams) in &line.moved {
            self.lots[*lot].grams -= grams;
        }
        if let Some(lot) = line.opened {
            self.lots[lot].struck = true;
        }
        if let Some(lot) = line.held {
            self.lots[lot].holds.retain(|hold| *hold != nr);
        }
        if let Some((lot, holds)) = line.lifted {
            let standing: Vec<usize> = holds.into_iter().filter(|hold| !self.lines[*hold].struck).collect();
            self.lots[lot].holds.extend(standing);
        }
        self.lines[nr].struck = true;
    }
}
