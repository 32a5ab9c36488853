//! The typefaces, and how wide words are in them.

use std::collections::BTreeMap;
use std::ops::Range;

use anyhow::{Context, Result};
use krilla::text::{Font, GlyphId, KrillaGlyph};

use super::Face;

/// Atkinson Hyperlegible Next and Mono, under the SIL Open Font License 1.1 (`static/fonts/print/OFL.txt`).
const PLAIN: &[u8] = include_bytes!("../../../static/fonts/print/AtkinsonHyperlegibleNext_400Regular.ttf");
const STRONG: &[u8] = include_bytes!("../../../static/fonts/print/AtkinsonHyperlegibleNext_600SemiBold.ttf");
const TYPED: &[u8] = include_bytes!("../../../static/fonts/print/AtkinsonHyperlegibleMono_400Regular.ttf");

/// The typefaces of a document.
pub struct Faces {
    plain: Typeface,
    strong: Typeface,
    typed: Typeface,
}

/// One typeface: for each character its glyph and its width, in parts of the size.
struct Typeface {
    font: Font,
    glyphs: BTreeMap<char, (GlyphId, f32)>,
}

impl Faces {
    pub fn load() -> Result<Self> {
        Ok(Self {
            plain: Typeface::load(PLAIN)?,
            strong: Typeface::load(STRONG)?,
            typed: Typeface::load(TYPED)?,
        })
    }

    fn of(&self, face: Face) -> &Typeface {
        match face {
            Face::Plain => &self.plain,
            Face::Strong => &self.strong,
            Face::Typed => &self.typed,
        }
    }

    pub(super) fn font(&self, face: Face) -> Font {
        self.of(face).font.clone()
    }

    /// How wide a text is at a size.
    pub(super) fn width(&self, face: Face, size: f32, text: &str) -> f32 {
        let glyphs = &self.of(face).glyphs;
        text.chars().filter_map(|c| glyphs.get(&c)).map(|(_, advance)| advance * size).sum()
    }

    /// The glyphs of a text that was made [`Faces::printable`].
    pub(super) fn glyphs(&self, face: Face, text: &str) -> Vec<KrillaGlyph> {
        let glyphs = &self.of(face).glyphs;
        let drawn = text.char_indices().filter_map(|(at, c)| {
            let (glyph, advance) = glyphs.get(&c)?;
            let range: Range<usize> = at..at + c.len_utf8();
            Some(KrillaGlyph::new(*glyph, *advance, 0.0, 0.0, 0.0, range, None))
        });
        drawn.collect()
    }

    /// The text with every character that the typefaces have no glyph for written by its number, so that nothing that
    /// was signed is lost in print: `[U+4E2D]`.
    pub(super) fn printable(&self, text: &str) -> String {
        let known =
            |c: &char| [&self.plain, &self.strong, &self.typed].iter().all(|f| f.glyphs.contains_key(c));
        let mut printable = String::with_capacity(text.len());
        for c in text.chars() {
            match c {
                '\n' => printable.push('\n'),
                c if known(&c) => printable.push(c),
                c if c.is_whitespace() => printable.push(' '),
                // Nothing to be seen: variation selectors, joiners, marks of direction.
                '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' => {}
                c => printable.extend(format!("[U+{:04X}]", u32::from(c)).chars()),
            }
        }
        printable
    }
}

impl Typeface {
    fn load(file: &'static [u8]) -> Result<Self> {
        let face = ttf_parser::Face::parse(file, 0)?;
        let font = Font::new(file.into(), 0).context("the font cannot be read")?;
        let per_em = f32::from(face.units_per_em());
        let mut glyphs = BTreeMap::new();
        let tables = face.tables().cmap.context("the font has no characters")?;
        for table in tables.subtables.into_iter().filter(ttf_parser::cmap::Subtable::is_unicode) {
            table.codepoints(|code| {
                let found = char::from_u32(code).and_then(|c| Some((c, face.glyph_index(c)?)));
                let Some((c, glyph)) = found.filter(|(c, _)| !c.is_control()) else { return };
                // Figures that stand under each other are all as wide as each other, where the font has such.
                let glyph = tabular(c).and_then(|name| face.glyph_index_by_name(name)).unwrap_or(glyph);
                let advance = face.glyph_hor_advance(glyph).map_or(0.0, f32::from) / per_em;
                glyphs.insert(c, (GlyphId::new(u32::from(glyph.0)), advance));
            });
        }
        Ok(Self { font, glyphs })
    }
}

/// The name of a digit's tabular form.
fn tabular(c: char) -> Option<&'static str> {
    const NAMES: [&str; 10] = [
        "zero.tf", "one.tf", "two.tf", "three.tf", "four.tf", "five.tf", "six.tf", "seven.tf", "eight.tf",
        "nine.tf",
    ];
    NAMES.get(usize::try_from(c.to_digit(10)?).ok()?).copied()
}
