//! A document that is printed: what it says, apart from where it stands on the sheet. It knows nothing of meat.
//!
//! It is laid out twice: once to count the sheets, so that each can say how many there are, and once to be written.
#![allow(
    clippy::float_arithmetic,
    reason = "places on a sheet of paper are measured in points; no figure of the book is reckoned here"
)]

mod draw;
mod font;
mod lay;
mod table;

use anyhow::Result;
use time::OffsetDateTime;

pub use font::Faces;

/// The size of a sheet, in points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216.
    A4,
    /// ANSI/ASME Y14.1, size A.
    Letter,
}

impl Paper {
    fn size(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// What is printed.
#[derive(Debug, Clone)]
pub struct Document {
    pub title: String,
    pub author: String,
    /// RFC 3066, of all its words.
    pub language: &'static str,
    pub made_at: OffsetDateTime,
    pub paper: Paper,
    /// What stands at the head of every sheet but the first, at the left.
    pub head: String,
    /// What stands at the foot of every sheet, at the left.
    pub foot: String,
    pub blocks: Vec<Block>,
}

/// A part of the document, in reading order.
#[derive(Debug, Clone)]
pub enum Block {
    /// The name of the whole: once, at its beginning.
    Title(String),
    /// The name of a section; it stands at the head of the sheets that the section fills.
    Section(String),
    Text(String),
    /// Said more quietly.
    Aside(String),
    /// Lines that are typed as they stand.
    Typed(Vec<String>),
    /// What each is: a name and what is said of it.
    Facts(Vec<(String, String)>),
    Table(Table),
    /// What follows begins on a sheet of its own.
    Sheet,
}

/// A table whose heads stand again on every sheet that it goes on to.
#[derive(Debug, Clone)]
pub struct Table {
    pub columns: Vec<Column>,
    pub rows: Vec<Row>,
}

#[derive(Debug, Clone, Copy)]
pub struct Column {
    pub head: &'static str,
    /// Its part of the width, against those of the others.
    pub part: u8,
    pub right: bool,
}

impl Column {
    pub const fn new(head: &'static str, part: u8) -> Self {
        Self { head, part, right: false }
    }

    /// Figures stand at the right of their column.
    pub const fn figure(head: &'static str, part: u8) -> Self {
        Self { head, part, right: true }
    }
}

/// A cell for each column; and, where a line goes through them, what is said of that.
#[derive(Debug, Clone, Default)]
pub struct Row {
    pub cells: Vec<String>,
    pub struck: Option<String>,
}

/// Told of each sheet that is set, and how many there will be.
pub type Watch<'a> = &'a dyn Fn(usize, usize);

/// Writes the document as PDF: tagged for those who hear it, with its fonts inside. The same document is the same
/// bytes.
pub fn pdf(document: &Document, watch: Watch) -> Result<Vec<u8>> {
    let faces = Faces::load()?;
    let sheets = lay::lay(document, &faces, 0, &mut lay::Counted);
    draw::write(document, &faces, sheets, draw::Held::Plain, watch)
}

/// Where something is drawn, in points from the left and the top of the sheet.
#[derive(Debug, Clone, PartialEq)]
enum Mark {
    Words(Words),
    /// A thin line.
    Rule {
        from: (f32, f32),
        to: (f32, f32),
        width: f32,
        ink: Ink,
    },
}

/// A line of words on the sheet.
#[derive(Debug, Clone, PartialEq)]
struct Words {
    at: (f32, f32),
    size: f32,
    face: Face,
    ink: Ink,
    text: String,
    /// The part of the document that they belong to; none for what is only furniture of the sheet.
    part: Option<PartId>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Face {
    Plain,
    Strong,
    Typed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ink {
    Black,
    Quiet,
    Rule,
    Accent,
}

/// A node of the document's structure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct PartId(usize);

/// What a node of the structure is.
#[derive(Debug, Clone, PartialEq, Eq)]
enum PartKind {
    Title(String),
    Section(String),
    Paragraph,
    Typed,
    Table,
    Heads,
    Body,
    Row,
    ColumnHead,
    RowHead,
    Cell,
}

/// Takes what is laid out.
trait Sheets {
    /// A node of the structure, under another one or under the whole.
    fn part(&mut self, under: Option<PartId>, kind: PartKind) -> PartId;
    /// A sheet that is full.
    fn sheet(&mut self, marks: Vec<Mark>);
    /// A section that begins on the sheet that is being filled, so far from its top.
    fn section(&mut self, name: &str, sheet: usize, down: f32);
}

#[cfg(test)]
mod tests;
