//! Writes laid-out sheets as PDF.

use std::num::NonZeroU16;

use anyhow::{Context, Result, anyhow};
use krilla::color::rgb;
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, Node, SpanTag, TableHeaderScope, Tag, TagGroup, TagKind,
    TagTree,
};
use krilla::{Document as Pdf, SerializeSettings};

use super::font::Faces;
use super::{Document, Ink, Mark, PartId, PartKind, Sheets, Watch, Words, lay};

/// What the writer holds the file to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Held {
    /// Nothing beyond what it is: the file claims no standard.
    Plain,
    /// The writer's own rules of PDF/A-2a and PDF/UA-1.
    #[cfg_attr(not(test), allow(dead_code, reason = "a test holds every part of a document to it"))]
    Archival,
}

/// A node of the structure, with what hangs under it in reading order.
struct Part {
    kind: PartKind,
    under: Vec<Under>,
}

enum Under {
    Part(PartId),
    Words(Identifier),
}

struct Writer<'a> {
    pdf: Pdf,
    document: &'a Document,
    faces: &'a Faces,
    parts: Vec<Part>,
    top: Vec<PartId>,
    outline: Outline,
    set: usize,
    sheets: usize,
    watch: Watch<'a>,
}

pub(super) fn write(
    document: &Document,
    faces: &Faces,
    sheets: usize,
    held: Held,
    watch: Watch,
) -> Result<Vec<u8>> {
    let settings = ConfigurationBuilder::new();
    let configuration = match held {
        Held::Plain => settings,
        Held::Archival => {
            settings.with_archival_validator(Archival::A2_A).with_accessibility_validator(Accessibility::UA1)
        }
    };
    let configuration =
        configuration.finish().map_err(|why| anyhow!("the writer's settings do not go together: {why:?}"))?;
    let pdf = Pdf::new_with(SerializeSettings {
        configuration,
        no_device_cs: true,
        xmp_metadata: true,
        enable_tagging: true,
        ..SerializeSettings::default()
    });
    let mut writer = Writer {
        pdf,
        document,
        faces,
        parts: Vec::new(),
        top: Vec::new(),
        outline: Outline::new(),
        set: 0,
        sheets,
        watch,
    };
    lay::lay(document, faces, sheets, &mut writer);
    writer.finish()
}

impl Sheets for Writer<'_> {
    fn part(&mut self, under: Option<PartId>, kind: PartKind) -> PartId {
        let id = PartId(self.parts.len());
        self.parts.push(Part { kind, under: Vec::new() });
        match under {
            Some(parent) => self.parts[parent.0].under.push(Under::Part(id)),
            None => self.top.push(id),
        }
        id
    }

    fn sheet(&mut self, marks: Vec<Mark>) {
        let (width, height) = self.document.paper.size();
        let Some(settings) = PageSettings::from_wh(width, height) else { return };
        let mut page = self.pdf.start_page_with(settings);
        let mut surface = page.surface();
        for mark in &marks {
            match mark {
                Mark::Rule { from, to, width, ink } => rule(&mut surface, *from, *to, *width, *ink),
                Mark::Words(words) => {
                    let id = draw(&mut surface, self.faces, words);
                    if let Some(part) = words.part {
                        self.parts[part.0].under.push(Under::Words(id));
                    }
                }
            }
        }
        surface.finish();
        page.finish();
        self.set += 1;
        (self.watch)(self.set, self.sheets);
    }

    fn section(&mut self, name: &str, sheet: usize, down: f32) {
        let there = XyzDestination::new(sheet, Point::from_xy(0.0, down));
        self.outline.push_child(OutlineNode::new(name.to_owned(), there));
    }
}

fn rule(surface: &mut Surface, from: (f32, f32), to: (f32, f32), width: f32, ink: Ink) {
    let mut path = PathBuilder::new();
    path.move_to(from.0, from.1);
    path.line_to(to.0, to.1);
    let Some(path) = path.finish() else { return };
    surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)));
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke { paint: colour(ink).into(), width, ..Stroke::default() }));
    surface.draw_path(&path);
    surface.end_tagged();
}

fn draw(surface: &mut Surface, faces: &Faces, words: &Words) -> Identifier {
    let tag = match words.part {
        Some(_) => ContentTag::Span(SpanTag::empty()),
        None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::PaginationOther)),
    };
    let id = surface.start_tagged(tag);
    surface.set_stroke(None);
    surface.set_fill(Some(Fill {
        paint: colour(words.ink).into(),
        opacity: NormalizedF32::ONE,
        ..Fill::default()
    }));
    let glyphs = faces.glyphs(words.face, &words.text);
    let at = Point::from_xy(words.at.0, words.at.1);
    surface.draw_glyphs(at, &glyphs, faces.font(words.face), &words.text, words.size, false);
    surface.end_tagged();
    id
}

fn colour(ink: Ink) -> rgb::Color {
    match ink {
        Ink::Black => rgb::Color::new(0x1c, 0x1a, 0x17),
        Ink::Quiet => rgb::Color::new(0x5a, 0x55, 0x4d),
        Ink::Rule => rgb::Color::new(0xb9, 0xb2, 0xa6),
        Ink::Accent => rgb::Color::new(0x8a, 0x2b, 0x1f),
    }
}

impl Writer<'_> {
    fn finish(mut self) -> Result<Vec<u8>> {
        let mut tree = TagTree::new().with_lang(Some(self.document.language.to_owned()));
        let mut parts: Vec<Option<Part>> = self.parts.into_iter().map(Some).collect();
        for id in self.top {
            if let Some(node) = node(&mut parts, id) {
                tree.push(node);
            }
        }
        self.pdf.set_tag_tree(tree);
        self.pdf.set_outline(self.outline);
        let at = self.document.made_at.to_offset(time::UtcOffset::UTC);
        let year = u16::try_from(at.year()).context("a year that PDF cannot write")?;
        let made = DateTime::new(year)
            .month(at.month().into())
            .day(at.day())
            .hour(at.hour())
            .minute(at.minute())
            .second(at.second())
            .utc_offset_hour(0)
            .utc_offset_minute(0);
        self.pdf.set_metadata(
            Metadata::new()
                .title(self.document.title.clone())
                .authors(vec![self.document.author.clone()])
                .language(self.document.language.to_owned())
                .creator("Flitchbook".to_owned())
                .creation_date(made),
        );
        self.pdf.finish().map_err(|why| anyhow!("the PDF cannot be written: {why:?}"))
    }
}

/// A node with everything under it. One that holds nothing is left out, cells excepted: a row has a cell for each column.
fn node(parts: &mut [Option<Part>], id: PartId) -> Option<Node> {
    let Part { kind, under } = parts[id.0].take()?;
    let mut children = Vec::new();
    for child in under {
        match child {
            Under::Words(id) => children.push(Node::Leaf(id)),
            Under::Part(id) => children.extend(node(parts, id)),
        }
    }
    let tag: TagKind = match kind {
        PartKind::Title(text) => Tag::Hn(NonZeroU16::MIN, Some(text)).into(),
        PartKind::Section(text) => Tag::Hn(NonZeroU16::MIN.saturating_add(1), Some(text)).into(),
        PartKind::Paragraph => Tag::P.into(),
        PartKind::Typed => Tag::Code.into(),
        PartKind::Table => Tag::Table.into(),
        PartKind::Heads => Tag::THead.into(),
        PartKind::Body => Tag::TBody.into(),
        PartKind::Row => Tag::TR.into(),
        PartKind::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        PartKind::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        PartKind::Cell => Tag::TD.into(),
    };
    Some(TagGroup::with_children(tag, children).into())
}
