//! The sizes that the shop prints on.

use rust_decimal::{Decimal, dec};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::book::{Effects, Entry, Line, Say};
use crate::error::{Errors, Refusal};
use crate::ids::LabelSizeId;
use crate::measure::{Length, LengthUnit};

/// What a size is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "lowercase")]
#[sqlx(type_name = "text", rename_all = "lowercase")]
pub enum Uses {
    Tag,
    Pack,
    Both,
}

impl Uses {
    pub const ALL: [Self; 3] = [Self::Tag, Self::Pack, Self::Both];

    pub fn word(self) -> &'static str {
        match self {
            Self::Tag => "tag",
            Self::Pack => "pack",
            Self::Both => "both",
        }
    }

    /// Whether a size for `self` is offered for tags, or for packs.
    pub fn covers(self, kind: Self) -> bool {
        self == Self::Both || kind == Self::Both || self == kind
    }
}

impl std::str::FromStr for Uses {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|uses| uses.word() == text).ok_or(())
    }
}

/// The paper of a sheet of labels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, sqlx::Type)]
#[sqlx(type_name = "text")]
pub enum Paper {
    A4,
    #[serde(rename = "letter")]
    #[sqlx(rename = "letter")]
    Letter,
}

impl Paper {
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    pub fn word(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "letter",
        }
    }

    /// Width and height. A4: ISO 216. Letter: 8.5 by 11 inches, ANSI/ASME Y14.1.
    pub fn size(self) -> (Length, Length) {
        match self {
            Self::A4 => (Length::new(dec!(210)), Length::new(dec!(297))),
            Self::Letter => (Length::new(dec!(215.9)), Length::new(dec!(279.4))),
        }
    }
}

impl std::str::FromStr for Paper {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|paper| paper.word() == text).ok_or(())
    }
}

/// How labels lie on a sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sheet {
    pub paper: Paper,
    pub across: u16,
    pub down: u16,
    /// Where the first one begins.
    pub from_left: Length,
    pub from_top: Length,
    pub gap_across: Length,
    pub gap_down: Length,
}

impl Sheet {
    /// How many there are on one sheet.
    pub fn labels(&self) -> usize {
        usize::from(self.across) * usize::from(self.down)
    }
}

/// A size that the shop prints on, new or changed. `label_size.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelSizeWritten {
    pub size: LabelSizeId,
    pub name: String,
    pub width: Length,
    pub height: Length,
    /// What it was typed in.
    pub unit: LengthUnit,
    pub uses: Uses,
    /// None: one label a page, from a roll.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<Sheet>,
    #[serde(default)]
    pub retired: bool,
}

impl LabelSizeWritten {
    /// `100 × 62 mm`
    pub fn measures(&self) -> String {
        let unit = self.unit;
        let (width, height) = (self.width.number(unit), self.height.number(unit));
        format!("{width} × {height}\u{a0}{}", unit.symbol())
    }

    /// How many are printed on one page.
    pub fn a_page(&self) -> usize {
        self.sheet.map_or(1, |sheet| sheet.labels())
    }
}

impl Entry for LabelSizeWritten {
    const KIND: &'static str = "label_size.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.size)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("{} in the list of label sizes", self.name));
        line.why(if self.retired { "no longer used".into() } else { self.measures() })
    }
}

/// The smallest and the largest side of a label, in millimetres.
const SIDES: (Decimal, Decimal) = (dec!(15), dec!(300));

/// A label is neither a speck nor a poster, and a sheet holds the labels that are said to be on it.
///
/// # Errors
/// Everything that does not fit, each at its field.
pub fn write(size: LabelSizeWritten) -> Result<LabelSizeWritten, Errors> {
    let mut errors = Errors::default();
    for (field, side) in [("width", size.width), ("height", size.height)] {
        if side.decimal() < SIDES.0 || side.decimal() > SIDES.1 {
            errors.push(Refusal::at(field, "A label's side is from 15 to 300 mm."));
        }
    }
    if let Some(sheet) = &size.sheet {
        let (width, height) = sheet.paper.size();
        if reach(sheet.from_left, size.width, sheet.gap_across, sheet.across) > width.decimal() {
            errors.push(Refusal::at("across", format!("They do not fit across {}.", sheet.paper.word())));
        }
        if reach(sheet.from_top, size.height, sheet.gap_down, sheet.down) > height.decimal() {
            errors.push(Refusal::at("down", format!("They do not fit down {}.", sheet.paper.word())));
        }
    }
    if errors.is_empty() { Ok(size) } else { Err(errors) }
}

/// Where the last of `count` labels ends, in millimetres.
fn reach(from: Length, side: Length, gap: Length, count: u16) -> Decimal {
    let count = Decimal::from(count);
    from.decimal() + side.decimal() * count + gap.decimal() * (count - Decimal::ONE)
}

/// The usual sizes of stock, which every shop has until it writes another in the place of one. Common trade sizes.
pub fn shipped() -> Vec<LabelSizeWritten> {
    let roll = |n: usize, unit: LengthUnit, width: Decimal, height: Decimal, uses: Uses| {
        let (width, height) = (Length::of(width, unit), Length::of(height, unit));
        let size = LabelSizeId::nth(Uuid::nil(), n);
        let mut roll = LabelSizeWritten {
            size,
            name: String::new(),
            width,
            height,
            unit,
            uses,
            sheet: None,
            retired: false,
        };
        roll.name = format!("Roll, {}", roll.measures());
        roll
    };
    let (mm, inch) = (LengthUnit::Millimetre, LengthUnit::Inch);
    let mut sizes = vec![
        roll(1, mm, dec!(100), dec!(62), Uses::Both),
        roll(2, mm, dec!(62), dec!(29), Uses::Tag),
        roll(3, mm, dec!(100), dec!(150), Uses::Both),
        roll(4, inch, dec!(4), dec!(6), Uses::Both),
        roll(5, inch, dec!(4), dec!(3), Uses::Both),
        roll(6, inch, dec!(2), dec!(1), Uses::Tag),
    ];
    let a4 = Sheet {
        paper: Paper::A4,
        across: 2,
        down: 4,
        from_left: Length::new(dec!(4.65)),
        from_top: Length::new(dec!(13.1)),
        gap_across: Length::new(dec!(2.5)),
        gap_down: Length::ZERO,
    };
    let letter = Sheet {
        paper: Paper::Letter,
        across: 2,
        down: 5,
        from_left: Length::of(dec!(0.15625), inch),
        from_top: Length::of(dec!(0.5), inch),
        gap_across: Length::of(dec!(0.1875), inch),
        gap_down: Length::ZERO,
    };
    for (n, sheet, unit, width, height) in
        [(7, a4, mm, dec!(99.1), dec!(67.7)), (8, letter, inch, dec!(4), dec!(2))]
    {
        let on = roll(n, unit, width, height, Uses::Both);
        let name = format!("{} sheet of {}, {}", sheet.paper.word(), sheet.labels(), on.measures());
        sizes.push(LabelSizeWritten { name: capital(&name), sheet: Some(sheet), ..on });
    }
    sizes
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_size_that_we_ship_fits_its_paper_and_has_a_name_of_its_own() {
        let shipped = shipped();
        let names: std::collections::BTreeSet<&str> = shipped.iter().map(|size| size.name.as_str()).collect();
        assert_eq!(names.len(), shipped.len());
        for size in shipped {
            assert!(write(size.clone()).is_ok(), "{}", size.name);
        }
    }

    #[test]
    fn a_sheet_does_not_hold_more_labels_than_fit_on_it() {
        let mut size = shipped().into_iter().find(|size| size.sheet.is_some()).unwrap();
        size.sheet.as_mut().unwrap().across = 3;
        size.sheet.as_mut().unwrap().down = 5;
        let errors = write(size).expect_err("refused");
        assert!(errors.of("across").is_some() && errors.of("down").is_some());
    }

    #[test]
    fn a_label_is_neither_a_speck_nor_a_poster() {
        let size = shipped().remove(0);
        let tiny = LabelSizeWritten { width: Length::new(dec!(5)), ..size.clone() };
        let huge = LabelSizeWritten { height: Length::new(dec!(301)), ..size };
        assert!(write(tiny).expect_err("refused").of("width").is_some());
        assert!(write(huge).expect_err("refused").of("height").is_some());
    }
}
