use time::macros::datetime;

use super::*;

fn document(rows: usize) -> Document {
    let row = |n: usize| Row {
        cells: vec![
            n.to_string(),
            "Temperature of chamber 2, between the rails at the back".into(),
            "12.4 °C".into(),
        ],
        struck: n.is_multiple_of(7).then(|| "struck 25 Nov 2026 07:20 by OW: wrong probe".into()),
    };
    Document {
        title: "Packet of batch 26301-01".into(),
        author: "Orla Whitcombe".into(),
        language: "en",
        made_at: datetime!(2026-11-25 07:20 UTC),
        paper: Paper::A4,
        head: "Whitcombe & Daughter".into(),
        foot: "Book up to line 412".into(),
        blocks: vec![
            Block::Title("Batch 26301-01".into()),
            Block::Facts(vec![("Shop".into(), "Whitcombe & Daughter\n3 Tannery Row".into())]),
            Block::Typed(vec!["import hashlib".into()]),
            Block::Sheet,
            Block::Section("Monitoring".into()),
            Block::Table(Table {
                columns: vec![Column::new("Line", 1), Column::new("What", 4), Column::figure("Value", 1)],
                rows: (1..=rows).map(row).collect(),
            }),
            Block::Aside("Nothing else.".into()),
        ],
    }
}

/// Keeps what stands on each sheet.
#[derive(Default)]
struct Kept(Vec<Vec<Mark>>);

impl Sheets for Kept {
    fn part(&mut self, _under: Option<PartId>, _kind: PartKind) -> PartId {
        PartId(0)
    }
    fn sheet(&mut self, marks: Vec<Mark>) {
        self.0.push(marks);
    }
    fn section(&mut self, _name: &str, _sheet: usize, _down: f32) {}
}

fn laid(document: &Document) -> Vec<Vec<String>> {
    let faces = Faces::load().expect("fonts");
    let mut kept = Kept::default();
    let sheets = lay::lay(document, &faces, 0, &mut lay::Counted);
    lay::lay(document, &faces, sheets, &mut kept);
    let words = |mark: &Mark| match mark {
        Mark::Words(words) => Some(words.text.trim().to_owned()),
        Mark::Rule { .. } => None,
    };
    kept.0.iter().map(|marks| marks.iter().filter_map(words).collect()).collect()
}

#[test]
fn heads_stand_again_on_every_sheet_and_each_says_which_of_how_many_it_is() {
    let sheets = laid(&document(200));
    assert!(sheets.len() > 3, "{} sheets", sheets.len());
    for (n, sheet) in (1..).zip(&sheets) {
        assert!(sheet.contains(&format!("Page {n} of {}", sheets.len())), "sheet {n}");
        if n > 1 && n < sheets.len() {
            assert!(
                sheet.contains(&"Value".to_owned()) && sheet.contains(&"Monitoring".to_owned()),
                "sheet {n}"
            );
        }
    }
}

#[test]
fn every_row_stands_once_and_whole() {
    let all: Vec<String> = laid(&document(200)).concat();
    for n in 1..=200 {
        assert_eq!(all.iter().filter(|text| **text == n.to_string()).count(), 1, "row {n}");
    }
    assert_eq!(all.iter().filter(|text| text.starts_with("struck 25 Nov")).count(), 28);
}

#[test]
fn a_cell_that_is_taller_than_a_sheet_goes_on_on_the_next() {
    let mut tall = document(1);
    let Some(Block::Table(table)) = tall.blocks.get_mut(5) else { panic!("a table") };
    table.rows[0].cells[1] =
        (0..600).map(|n| format!("word{n} and more of it")).collect::<Vec<_>>().join(" ");
    let sheets = laid(&tall);
    assert!(sheets.len() > 2, "{} sheets", sheets.len());
    let text = sheets.concat().join(" ");
    assert!((0..600).all(|n| text.contains(&format!("word{n} "))), "no word is lost");
}

#[test]
fn nothing_is_lost_that_the_font_has_no_glyph_for() {
    let faces = Faces::load().expect("fonts");
    assert_eq!(faces.printable("Łódź 中 3 °C"), "Łódź [U+4E2D] 3 °C");
}

#[test]
fn figures_are_as_wide_as_each_other() {
    let faces = Faces::load().expect("fonts");
    let wide = |text: &str| faces.width(Face::Plain, 10.0, text);
    assert!((wide("1111") - wide("0888")).abs() < 0.001);
}

#[test]
fn the_same_document_is_the_same_bytes() {
    assert!(
        pdf(&document(40), &|_, _| {}).expect("written") == pdf(&document(40), &|_, _| {}).expect("written")
    );
}

#[test]
fn the_writers_own_rules_of_pdf_a_2a_and_pdf_ua_1_are_kept_and_no_claim_is_made() {
    let faces = Faces::load().expect("fonts");
    let held =
        draw::write(&document(40), &faces, 3, draw::Held::Archival, &|_, _| {}).expect("keeps its own rules");
    assert!(held.starts_with(b"%PDF-1.7"));
    let plain = pdf(&document(40), &|_, _| {}).expect("written");
    assert!(!plain.windows(6).any(|window| window == b"pdfaid"), "no validator of others has seen it");
}
