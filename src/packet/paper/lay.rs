//! Lays the blocks out on sheets, from the top of the first to the foot of the last.

use super::font::Faces;
use super::{Block, Document, Face, Ink, Mark, PartId, PartKind, Sheets, Words};

/// The margins of a sheet.
pub(super) const SIDE: f32 = 45.0;
const TOP: f32 = 66.0;
const BOTTOM: f32 = 60.0;
const TEXT: f32 = 9.5;
pub(super) const LINE: f32 = 1.32;

/// Counts sheets and keeps nothing.
pub(super) struct Counted;

impl Sheets for Counted {
    fn part(&mut self, _under: Option<PartId>, _kind: PartKind) -> PartId {
        PartId(0)
    }
    fn sheet(&mut self, _marks: Vec<Mark>) {}
    fn section(&mut self, _name: &str, _sheet: usize, _down: f32) {}
}

/// Lays a document out and says how many sheets it fills. `total` is what each sheet says of that.
pub(super) fn lay(document: &Document, faces: &Faces, total: usize, to: &mut dyn Sheets) -> usize {
    let (width, height) = document.paper.size();
    let mut layer = Layer {
        document,
        faces,
        to,
        total,
        width,
        height,
        sheets: 0,
        down: TOP,
        marks: Vec::new(),
        section: String::new(),
        fresh: true,
    };
    for block in &document.blocks {
        layer.block(block);
    }
    layer.turn();
    layer.sheets
}

/// The sheet that is being filled.
pub(super) struct Layer<'a> {
    document: &'a Document,
    pub faces: &'a Faces,
    pub to: &'a mut dyn Sheets,
    total: usize,
    width: f32,
    height: f32,
    sheets: usize,
    /// How far down the sheet is filled.
    pub down: f32,
    pub marks: Vec<Mark>,
    section: String,
    /// Whether nothing stands on the sheet yet.
    pub fresh: bool,
}

/// How a run of text is set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Set {
    pub face: Face,
    pub size: f32,
    pub ink: Ink,
}

impl Layer<'_> {
    fn block(&mut self, block: &Block) {
        match block {
            Block::Title(text) => {
                let part = self.to.part(None, PartKind::Title(text.clone()));
                self.paragraph(text, Set { face: Face::Strong, size: 25.0, ink: Ink::Black }, part, 6.0);
                let y = self.down + 2.0;
                self.rule(y, 1.4, Ink::Accent);
                self.rule(y + 2.6, 0.4, Ink::Accent);
                self.down = y + 14.0;
            }
            Block::Section(text) => self.section(text),
            Block::Text(text) => {
                let part = self.to.part(None, PartKind::Paragraph);
                self.paragraph(text, Set { face: Face::Plain, size: TEXT, ink: Ink::Black }, part, 7.0);
            }
            Block::Aside(text) => {
                let part = self.to.part(None, PartKind::Paragraph);
                self.paragraph(text, Set { face: Face::Plain, size: 8.5, ink: Ink::Quiet }, part, 7.0);
            }
            Block::Typed(lines) => {
                let part = self.to.part(None, PartKind::Typed);
                let set = Set { face: Face::Typed, size: 7.2, ink: Ink::Black };
                for line in lines {
                    self.paragraph(line, set, part, 0.0);
                }
                self.down += 8.0;
            }
            Block::Facts(facts) => self.facts(facts),
            Block::Table(table) => self.table(table),
            Block::Sheet => self.turn(),
        }
    }

    fn section(&mut self, text: &str) {
        // A heading stands with some of what it heads.
        self.room_for(96.0);
        if !self.fresh {
            self.down += 14.0;
        }
        text.clone_into(&mut self.section);
        self.to.section(text, self.sheets, self.down);
        let part = self.to.part(None, PartKind::Section(text.to_owned()));
        self.paragraph(text, Set { face: Face::Strong, size: 14.0, ink: Ink::Black }, part, 4.0);
    }

    /// A run of text from margin to margin.
    fn paragraph(&mut self, text: &str, set: Set, part: PartId, after: f32) {
        let width = self.width - SIDE - SIDE;
        for line in self.wrapped(text, set, width) {
            self.room_for(set.size * LINE);
            let y = self.down + set.size;
            self.words(SIDE, y, set, line, Some(part));
            self.down += set.size * LINE;
        }
        self.down += after;
    }

    /// What each is, a line each: its name at the left.
    fn facts(&mut self, facts: &[(String, String)]) {
        let table = self.to.part(None, PartKind::Table);
        let body = self.to.part(Some(table), PartKind::Body);
        let name = Set { face: Face::Plain, size: TEXT, ink: Ink::Quiet };
        let said = Set { face: Face::Plain, size: TEXT, ink: Ink::Black };
        let (left, column) = (SIDE, 128.0);
        for (label, text) in facts {
            let labels = self.wrapped(label, name, column - 10.0);
            let lines = self.wrapped(text, said, self.width - SIDE - SIDE - column);
            let tall = f32_of(labels.len().max(lines.len())) * TEXT * LINE + 6.0;
            self.room_for(tall);
            let row = self.to.part(Some(body), PartKind::Row);
            let head = self.to.part(Some(row), PartKind::RowHead);
            let cell = self.to.part(Some(row), PartKind::Cell);
            self.stack(left, self.down, name, labels, head);
            self.stack(left + column, self.down, said, lines, cell);
            self.down += tall;
            self.rule(self.down - 2.5, 0.35, Ink::Rule);
        }
        self.down += 8.0;
    }

    /// Lines under each other.
    fn stack(&mut self, x: f32, top: f32, set: Set, lines: Vec<String>, part: PartId) {
        let mut y = top + set.size;
        for line in lines {
            self.words(x, y, set, line, Some(part));
            y += set.size * LINE;
        }
    }

    pub(super) fn inner_width(&self) -> f32 {
        self.width - SIDE - SIDE
    }

    /// How much of the sheet is left.
    pub(super) fn left(&self) -> f32 {
        self.height - BOTTOM - self.down
    }

    pub(super) fn words(&mut self, x: f32, y: f32, set: Set, text: String, part: Option<PartId>) {
        if !text.trim().is_empty() {
            let Set { face, size, ink } = set;
            self.marks.push(Mark::Words(Words { at: (x, y), size, face, ink, text, part }));
        }
        self.fresh = false;
    }

    /// A thin line from margin to margin.
    pub(super) fn rule(&mut self, y: f32, width: f32, ink: Ink) {
        self.marks.push(Mark::Rule { from: (SIDE, y), to: (self.width - SIDE, y), width, ink });
    }

    /// Begins a new sheet when there is no room for so much on this one. Says whether it did.
    pub(super) fn room_for(&mut self, tall: f32) -> bool {
        let full = self.left() < tall && !self.fresh;
        if full {
            self.turn();
        }
        full
    }

    /// Ends this sheet and begins the next.
    pub(super) fn turn(&mut self) {
        if self.fresh && self.marks.is_empty() {
            return;
        }
        self.furniture();
        let marks = std::mem::take(&mut self.marks);
        self.to.sheet(marks);
        self.sheets += 1;
        self.down = TOP;
        self.fresh = true;
    }

    /// What stands at the head and the foot of a sheet.
    fn furniture(&mut self) {
        let quiet = Set { face: Face::Plain, size: 7.8, ink: Ink::Quiet };
        let right = self.width - SIDE;
        if self.sheets > 0 {
            let head = self.faces.printable(&self.document.head);
            self.words(SIDE, 40.0, quiet, head, None);
            let section = self.faces.printable(&self.section);
            let x = right - self.faces.width(quiet.face, quiet.size, &section);
            self.words(x, 40.0, quiet, section, None);
            self.rule(47.0, 0.4, Ink::Rule);
        }
        let foot = self.height - 34.0;
        self.rule(foot - 12.0, 0.4, Ink::Rule);
        let said = self.faces.printable(&self.document.foot);
        self.words(SIDE, foot, quiet, said, None);
        let number = format!("Page {} of {}", self.sheets + 1, self.total);
        let x = right - self.faces.width(quiet.face, quiet.size, &number);
        self.words(x, foot, quiet, number, None);
    }

    /// The text in lines that are no wider than `width`. A line that goes on ends with the space before the next word.
    pub(super) fn wrapped(&self, text: &str, set: Set, width: f32) -> Vec<String> {
        let text = self.faces.printable(text);
        text.split('\n').flat_map(|line| self.wrapped_line(line, set, width)).collect()
    }

    fn wrapped_line(&self, text: &str, set: Set, width: f32) -> Vec<String> {
        let wide = |text: &str| self.faces.width(set.face, set.size, text);
        let mut lines = Vec::new();
        let mut line = String::new();
        let mut filled = 0.0;
        for word in text.split_inclusive(' ') {
            let bare = wide(word.trim_end());
            if filled + bare > width && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                filled = 0.0;
            }
            if bare > width {
                // A word that is wider than the column goes on below, letter by letter.
                for c in word.chars() {
                    let one = wide(c.encode_utf8(&mut [0; 4]));
                    if filled + one > width && !line.is_empty() {
                        lines.push(std::mem::take(&mut line));
                        filled = 0.0;
                    }
                    line.push(c);
                    filled += one;
                }
            } else {
                line.push_str(word);
                filled += wide(word);
            }
        }
        lines.push(line);
        lines
    }
}

/// A count as a length.
#[allow(clippy::cast_precision_loss, reason = "lines of a cell are few")]
pub(super) fn f32_of(count: usize) -> f32 {
    count as f32
}
