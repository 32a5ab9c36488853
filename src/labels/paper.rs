//! How labels lie on paper: the style of a size, and which size of type holds all that a label has to say.

use std::fmt::Write as _;

use rust_decimal::{Decimal, dec};

use super::entry::LabelSizeWritten;
use crate::measure::UnitSystem;

/// The style that makes a page print at the true size: `@page` and the measures of each label.
pub fn style(size: &LabelSizeWritten) -> String {
    let unit = size.unit;
    let (width, height) = (size.width.css(unit), size.height.css(unit));
    let mut css = String::new();
    let (page, leaf) = match &size.sheet {
        None => (format!("{width} {height}"), format!("inline-size: {width}; block-size: {height}")),
        Some(sheet) => {
            let (across, down) = sheet.paper.size();
            let paper = format!("{} {}", across.css(unit), down.css(unit));
            let place = format!(
                "inline-size: {}; block-size: {}; padding: {} 0 0 {}; gap: {} {}",
                across.css(unit),
                down.css(unit),
                sheet.from_top.css(unit),
                sheet.from_left.css(unit),
                sheet.gap_down.css(unit),
                sheet.gap_across.css(unit)
            );
            (paper, format!("{place}; grid-template-columns: repeat({}, {width})", sheet.across))
        }
    };
    // Writing to a String cannot fail.
    let _ = writeln!(css, "@page {{ size: {page}; margin: 0 }}");
    let _ = writeln!(css, ".label-page {{ {leaf} }}");
    let _ = writeln!(css, ".label {{ inline-size: {width}; block-size: {height} }}");
    css
}

/// The sizes of type that a pack's label is set in, tenths of a point, the largest first. `static/css` has a class for
/// each.
const TYPES: [u16; 8] = [110, 100, 95, 90, 85, 80, 75, 70];

/// The smallest type, tenths of a point. Our typeface's x-height is 0.496 of its size.
///
/// Metric: Regulation (EU) No 1169/2011, art. 13(2), an x-height of 1.2 mm, which is 6.9 pt. United States: 9 CFR 317.2(l)(5),
/// letters of 1/16 inch, which is 9.1 pt.
fn least(system: UnitSystem) -> u16 {
    match system {
        UnitSystem::Metric => 70,
        UnitSystem::Us => 95,
    }
}

/// Millimetres in a point, a seventy-second of an inch.
const POINT: Decimal = dec!(0.352778);
/// Width of a letter in running text, of the size of its type. Measured on our typeface: 0.417; the rest is for lines that
/// break early.
const LETTER: Decimal = dec!(0.45);
/// Height of a line, of the size of its type.
const LINE: Decimal = dec!(1.2);
/// White around the whole, and between paragraphs, in millimetres.
const EDGE: Decimal = dec!(2.5);
const GAP: Decimal = dec!(0.6);
/// Height of a line of what stands at the head beside the QR code, in millimetres: the product in 13 pt, the weight in
/// 17 pt, or in 25.5 pt where it is heavy.
const PRODUCT_LINE: Decimal = dec!(5.1);
const WEIGHT_LINE: Decimal = dec!(7.3);
const HEAVY_LINE: Decimal = dec!(9.1);
const QR: Decimal = dec!(17);

/// What stands at the head of a pack's label, in large type.
#[derive(Debug, Clone, Copy)]
pub struct Head<'a> {
    pub product: &'a str,
    /// The net weight with the words before it.
    pub weight: &'a str,
    pub heavy: bool,
}

impl Head<'_> {
    /// Its height in millimetres, where so much width is left beside the QR code.
    fn height(&self, beside: Decimal) -> Decimal {
        let (size, line) = if self.heavy { (dec!(25.5), HEAVY_LINE) } else { (dec!(17), WEIGHT_LINE) };
        let product = lines(self.product.chars().count(), dec!(13) * POINT, beside) * PRODUCT_LINE;
        product + lines(self.weight.chars().count(), size * POINT, beside) * line
    }
}

/// The largest type in which a label holds everything, in tenths of a point; none when it does not fit at all, and then
/// nothing may be printed: a label that cuts off its allergens is worse than none.
pub fn type_for(
    size: &LabelSizeWritten,
    head: Head<'_>,
    paragraphs: &[usize],
    system: UnitSystem,
) -> Option<u16> {
    let width = size.width.decimal() - EDGE - EDGE;
    let room = size.height.decimal() - EDGE - EDGE;
    let beside = width - QR - dec!(2);
    if beside <= dec!(15) {
        return None;
    }
    let head = head.height(beside).max(QR);
    let fits = |tenths: &u16| {
        let letter = Decimal::new(i64::from(*tenths), 1) * POINT;
        let text: Decimal =
            paragraphs.iter().map(|length| lines(*length, letter, width) * letter * LINE + GAP).sum();
        head + GAP + text <= room
    };
    TYPES.into_iter().filter(|tenths| *tenths >= least(system)).find(fits)
}

/// How many lines so many letters take.
fn lines(letters: usize, size: Decimal, width: Decimal) -> Decimal {
    let length = Decimal::from(letters) * size * LETTER;
    (length / width).ceil().max(Decimal::ONE)
}

#[cfg(test)]
mod tests {
    use super::super::entry::shipped;
    use super::*;

    fn size(name: &str) -> LabelSizeWritten {
        shipped().into_iter().find(|size| size.name.replace('\u{a0}', " ").contains(name)).expect("shipped")
    }

    #[test]
    fn a_roll_prints_one_label_a_page_at_its_own_size() {
        let css = style(&size("Roll, 100 × 62 mm"));
        assert!(css.contains("@page { size: 100mm 62mm; margin: 0 }"), "{css}");
        assert!(css.contains(".label { inline-size: 100mm; block-size: 62mm }"), "{css}");
        assert!(style(&size("4 × 6 in")).contains("@page { size: 4in 6in; margin: 0 }"));
    }

    #[test]
    fn a_sheet_prints_its_labels_where_they_lie() {
        let css = style(&size("A4 sheet of 8"));
        assert!(css.contains("@page { size: 210mm 297mm; margin: 0 }"), "{css}");
        assert!(css.contains("padding: 13.1mm 0 0 4.65mm; gap: 0mm 2.5mm"), "{css}");
        assert!(css.contains("repeat(2, 99.1mm)"), "{css}");
    }

    fn head(product: &str) -> Head<'_> {
        Head { product, weight: "Net weight 250 g", heavy: false }
    }

    #[test]
    fn short_words_stand_large_long_ones_small_and_too_many_not_at_all() {
        let label = size("Roll, 100 × 62 mm");
        let at =
            |letters: usize| type_for(&label, head("Cured loin"), &[letters, 40, 40], UnitSystem::Metric);
        assert_eq!(at(60), Some(110));
        assert!(at(700).is_some_and(|tenths| tenths < 110));
        assert_eq!(at(5_000), None);
    }

    #[test]
    fn safe_handling_instructions_want_a_large_label_since_their_letters_may_not_shrink() {
        let handling: usize = super::super::words::HANDLING.iter().map(|text| text.len()).sum();
        let paragraphs = [handling, 120, 40, 40];
        assert_eq!(type_for(&size("4 × 3 in"), head("Pork chops"), &paragraphs, UnitSystem::Us), None);
        assert!(type_for(&size("4 × 6 in"), head("Pork chops"), &paragraphs, UnitSystem::Us).is_some());
    }

    #[test]
    fn a_weight_in_large_figures_leaves_less_room_for_the_rest() {
        let label = size("Roll, 100 × 62 mm");
        let heavy = Head { weight: "Net weight 12.250 kg", heavy: true, ..head("Cured loin") };
        let paragraphs = [600, 40, 40];
        let light = type_for(&label, head("Cured loin"), &paragraphs, UnitSystem::Metric);
        assert!(heavy.height(dec!(76)) > head("Cured loin").height(dec!(76)));
        assert!(type_for(&label, heavy, &paragraphs, UnitSystem::Metric) <= light);
    }

    #[test]
    fn a_label_too_narrow_for_a_code_beside_its_product_is_for_tags_only() {
        let narrow =
            LabelSizeWritten { width: crate::measure::Length::new(dec!(30)), ..size("Roll, 100 × 62 mm") };
        assert_eq!(type_for(&narrow, head("Loin"), &[10], UnitSystem::Metric), None);
    }
}
