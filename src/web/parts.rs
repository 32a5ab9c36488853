//! The parts that pages are made of, ready to print. Each is drawn by a macro of the same name in `templates/parts/`.

use rust_decimal::Decimal;

use crate::measure::Percent;

/// One answer of several.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choice {
    pub value: String,
    pub label: String,
    /// A small second line; may be empty.
    pub note: String,
}

impl Choice {
    #[allow(
        clippy::needless_pass_by_value,
        reason = "ids are copied and texts are handed over; both read well"
    )]
    pub fn new(value: impl ToString, label: impl Into<String>) -> Self {
        Self { value: value.to_string(), label: label.into(), note: String::new() }
    }

    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }
}

/// A mark and a word. Marks: met, due, wait, late, out, held, gone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    pub mark: &'static str,
    pub word: String,
}

impl State {
    pub fn new(mark: &'static str, word: impl Into<String>) -> Self {
        Self { mark, word: word.into() }
    }
}

/// The drawing of a mark, the same on every machine. What is no mark is drawn as gone.
pub fn mark(mark: &str) -> String {
    let shape = match mark {
        "met" => r#"<path d="M2 9.2 6.2 13.5 14 3"/>"#,
        "due" => r#"<circle cx="8" cy="8" r="6"/>"#,
        "wait" => r#"<path class="dots" d="M2.4 9h.01M8 9h.01M13.6 9h.01"/>"#,
        "late" => r#"<path class="dots" d="M8 2v6.6M8 14h.01"/>"#,
        "out" => r#"<path d="m2.8 2.8 10.4 10.4m0-10.4L2.8 13.2"/>"#,
        "held" => r#"<path d="M4.6 2.4v11.2m6.8-11.2v11.2"/>"#,
        _ => r#"<path d="M2 8h12"/>"#,
    };
    format!(r#"<svg class="mark" viewBox="0 0 16 16" aria-hidden="true">{shape}</svg>"#)
}

/// A sentence that a page must not hide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    pub mark: &'static str,
    pub text: String,
    /// Where to go from it; empty: nowhere.
    pub href: String,
    pub link: String,
}

impl Notice {
    pub fn new(mark: &'static str, text: impl Into<String>) -> Self {
        Self { mark, text: text.into(), href: String::new(), link: String::new() }
    }
}

/// One of the things that stand between a lot and its next step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stand {
    pub state: State,
    pub what: String,
    pub note: String,
    pub href: String,
}

/// A figure that can be read from across the block.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Figure {
    pub name: String,
    pub value: String,
    pub unit: String,
    pub beneath: String,
    /// The one that the page is about.
    pub chief: bool,
}

impl Figure {
    pub fn new(name: impl Into<String>, value: impl Into<String>, unit: impl Into<String>) -> Self {
        Self { name: name.into(), value: value.into(), unit: unit.into(), ..Self::default() }
    }

    #[must_use]
    pub fn beneath(mut self, text: impl Into<String>) -> Self {
        self.beneath = text.into();
        self
    }

    #[must_use]
    pub fn chief(mut self) -> Self {
        self.chief = true;
        self
    }
}

/// A step of the way that a thing came.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Step {
    pub href: String,
    pub code: String,
    /// Where it has no code.
    pub name: String,
    pub note: String,
    pub here: bool,
}

/// A name and what it is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fact {
    pub name: String,
    pub value: String,
    pub href: String,
}

impl Fact {
    pub fn new(name: impl Into<String>, value: impl Into<String>) -> Self {
        Self { name: name.into(), value: value.into(), href: String::new() }
    }

    #[must_use]
    pub fn link(mut self, href: impl Into<String>) -> Self {
        self.href = href.into();
        self
    }
}

/// Where a long list goes on.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Paging {
    pub newer: String,
    pub older: String,
    pub words: String,
}

/// One of the sheets of an area.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tab {
    pub href: String,
    pub name: String,
    pub count: String,
    pub here: bool,
}

/// A line of the book, as a page shows it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Line {
    /// "25 Nov"; empty where all lines are of one day.
    pub day: String,
    pub time: String,
    /// "written 09:10" when it was written more than five minutes after it happened.
    pub later: String,
    pub what: String,
    pub href: String,
    pub code: String,
    pub state: Option<State>,
    pub why: String,
    pub figure: String,
    pub second: String,
    pub initials: String,
    pub person: String,
    /// "reviewed by WT", "not reviewed"; empty where nobody asks.
    pub reviewed: String,
    /// Who struck it, when and why; empty: it stands.
    pub struck: String,
    /// The page that strikes it; empty: no such link.
    pub strike: String,
    /// Just signed.
    pub fresh: bool,
}

/// Something that is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    pub time: String,
    pub what: String,
    pub href: String,
    pub code: String,
    pub why: String,
    pub state: State,
}

/// What a source has become, by weight.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct MassBar {
    /// The whole bar in words, read out instead of the picture.
    pub label: String,
    pub shares: Vec<Share>,
    /// What is not yet weighed out.
    pub left: Option<Share>,
}

/// One part of the mass bar; `start` and `width` are per cent of the bar as plain decimals.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Share {
    pub nr: usize,
    pub name: String,
    pub href: String,
    pub weight: String,
    pub percent: String,
    pub start: String,
    pub width: String,
    /// "" or "loss".
    pub kind: &'static str,
    /// From which width of page its name has room in the bar; see [`Share::room`].
    pub fits: &'static str,
}

impl Share {
    /// From which width of page a name has room in a segment of this share of the bar, as the class that `parts/mass.html`
    /// draws. A letter takes about 9.5 px; the bar is about 700, 980 and 1200 px wide at the three widths.
    pub fn room(name: &str, percent: Percent) -> &'static str {
        let needs = Decimal::from(34 + name.chars().count() * 19 / 2);
        let wide_at = |bar: u16| percent.fraction() * Decimal::from(bar) >= needs;
        match () {
            () if percent < Percent::new(Decimal::new(25, 1)) => "slim",
            () if wide_at(700) => "middle",
            () if wide_at(980) => "wide",
            () if wide_at(1200) => "widest",
            () if percent < Percent::new(Decimal::from(6)) => "thin",
            () => "",
        }
    }
}

/// A chart of readings over time, or of columns to compare. Places are per cent of the plot as plain decimals, `y`
/// counted downward.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Chart {
    /// The whole chart in one sentence, read out instead of the picture.
    pub label: String,
    pub ys: Vec<Tick>,
    pub xs: Vec<Tick>,
    pub curves: Vec<Curve>,
    pub columns: Vec<Column>,
    pub points: Vec<Point>,
    pub limits: Vec<Tick>,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tick {
    pub at: String,
    pub name: String,
    /// Left out on a phone.
    pub lesser: bool,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Curve {
    pub class: &'static str,
    pub path: String,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Column {
    pub x: String,
    pub width: String,
    pub y: String,
    pub height: String,
    pub class: &'static str,
    pub title: String,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Point {
    pub x: String,
    pub y: String,
    pub class: &'static str,
    pub title: String,
}

/// A row of a tree that comes flat, in the order of reading. A depth grows by one at most.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TreeRow {
    pub depth: usize,
    /// The first row of a deeper level.
    pub opens: bool,
    /// The next row is deeper.
    pub parent: bool,
    /// How many levels end after it.
    pub closes: usize,
    /// What was asked for.
    pub here: bool,
    pub href: String,
    pub code: String,
    pub name: String,
    pub weight: String,
    pub note: String,
    pub state: Option<State>,
}

impl TreeRow {
    /// Fills in where levels open and close, from the depths.
    pub fn nest(rows: &mut [Self]) {
        let depths: Vec<usize> = rows.iter().map(|row| row.depth).collect();
        for (at, row) in rows.iter_mut().enumerate() {
            let next = depths.get(at + 1).copied().unwrap_or(0);
            row.opens = at > 0 && depths[at] > depths[at - 1];
            row.parent = next > row.depth;
            row.closes = row.depth.saturating_sub(next);
        }
    }
}

/// A trace as a picture; every place is in px from the top left.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Picture {
    /// The whole picture in one sentence, read out instead of it.
    pub label: String,
    pub width: u32,
    pub height: u32,
    pub stages: Vec<PictureStage>,
    pub links: Vec<PictureLink>,
    pub nodes: Vec<PictureNode>,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PictureStage {
    pub x: u32,
    pub name: String,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PictureLink {
    pub path: String,
    /// On the way through what was asked for.
    pub on: bool,
}

/// A node is 54 px high. Its class is "", "here", "held", "gone" or "folded".
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PictureNode {
    pub x: u32,
    pub y: u32,
    pub width: u32,
    pub class: &'static str,
    pub href: String,
    /// A code where it is `coded`, a name otherwise.
    pub head: String,
    pub coded: bool,
    pub weight: String,
    pub beneath: String,
}

impl PictureNode {
    /// The width of its frame, 2 px in from either side.
    pub fn inner(&self) -> u32 {
        self.width.saturating_sub(4)
    }

    /// Where its weight ends.
    pub fn end(&self) -> u32 {
        self.width.saturating_sub(12)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flat_tree_opens_and_closes_its_levels() {
        let depths = [0, 1, 2, 2, 1, 0];
        let mut rows: Vec<TreeRow> =
            depths.into_iter().map(|depth| TreeRow { depth, ..TreeRow::default() }).collect();
        TreeRow::nest(&mut rows);
        let opened = rows.iter().filter(|row| row.opens).count();
        let closed: usize = rows.iter().map(|row| row.closes).sum();
        assert_eq!((opened, closed), (2, 2));
        assert_eq!(
            rows.iter().map(|row| row.parent).collect::<Vec<_>>(),
            [true, true, false, false, false, false]
        );
    }
}
