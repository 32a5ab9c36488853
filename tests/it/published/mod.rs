//! Figures that others have published, held against what the program makes of the same case. One file a subject; each figure
//! names its source. DEVELOPERS.md lists the subjects with their sources and counts, and a test keeps that list true.

mod blend;
mod brine;
mod cooling;
mod curing;
mod drying;
mod fermentation;
mod instruments;
mod limits;
mod sanitizer;
mod shelf_stability;
mod trichinella;
mod units;
mod water;
mod yields;

use std::fmt::Display;
use std::fs;

use rust_decimal::{Decimal, RoundingStrategy};

/// A published figure, and what the program makes of the same case.
#[derive(Debug)]
pub struct Published {
    pub source: &'static str,
    pub case: String,
    pub says: String,
    pub reckoned: String,
}

/// A figure of `source` for a case: what it says there, and what the program reckons, written the same way.
pub fn figure(
    source: &'static str,
    case: impl Display,
    says: impl Display,
    reckoned: impl Display,
) -> Published {
    Published { source, case: case.to_string(), says: says.to_string(), reckoned: reckoned.to_string() }
}

/// A figure as a publication prints it: so many places, half away from zero.
fn printed(figure: Decimal, places: u32) -> String {
    let rounded = figure.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero);
    format!("{rounded:.*}", places as usize)
}

/// What DEVELOPERS.md calls a subject, and its figures.
type Subject = (&'static str, fn() -> Vec<Published>);

/// Every subject.
const SUBJECTS: &[Subject] = &[
    ("Ingoing nitrite and nitrate", curing::figures),
    ("Treatment against Trichinella", trichinella::figures),
    ("Sanitizer", sanitizer::figures),
    ("Shelf stability", shelf_stability::figures),
    ("Cooling", cooling::figures),
    ("Instruments", instruments::figures),
    ("Drying losses and dew points", drying::figures),
    ("Degree-hours of fermentation", fermentation::figures),
    ("Limits of curing", limits::figures),
    ("Brine and pump", brine::figures),
    ("Lean and fat", blend::figures),
    ("Salt in the water phase", water::figures),
    ("Cut-outs and cutting tests", yields::figures),
    ("Units", units::figures),
];

#[test]
fn every_published_figure_comes_out_of_the_program() {
    let mut wrong = Vec::new();
    for (subject, figures) in SUBJECTS {
        for one in figures() {
            assert!(!one.source.is_empty(), "{subject}: {} names no source", one.case);
            if one.says != one.reckoned {
                wrong.push(format!(
                    "{subject}, {}: {} says {}, the program {}",
                    one.case, one.source, one.says, one.reckoned
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_developers_page_lists_every_subject_with_its_count() {
    let page = fs::read_to_string("DEVELOPERS.md").unwrap();
    for (subject, figures) in SUBJECTS {
        let count = figures().len();
        let row = page.lines().find(|line| line.starts_with(&format!("| {subject} |")));
        let row = row.unwrap_or_else(|| panic!("DEVELOPERS.md has no row for {subject}"));
        assert!(
            row.ends_with(&format!("| {count} |")),
            "{subject} has {count} figures; DEVELOPERS.md says: {row}"
        );
    }
}
