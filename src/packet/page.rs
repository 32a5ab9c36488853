//! From what was gathered to the document that is printed.

use time::OffsetDateTime;

use super::entry::Scope;
use super::gather::{Gathered, head};
use super::lines::Told;
use super::paper::{Block, Document, Paper, Table};
use super::sections::Section;
use crate::measure::{UnitSystem, day_year};

/// How somebody else reckons the hashes again: a few lines of Python's own library. It stands on every cover.
pub const RECIPE: [&str; 12] = [
    "import hashlib, json, sys",
    "book = json.load(open(sys.argv[1], encoding=\"utf-8\"))[\"lines\"]",
    "seq, prev = None, None",
    "for line in book:",
    "    form = json.dumps(line[\"form\"], sort_keys=True, separators=(\",\", \":\"), ensure_ascii=False)",
    "    own = hashlib.sha256(form.encode(\"utf-8\")).hexdigest()",
    "    if own != line[\"hash\"]:",
    "        sys.exit(\"line \" + line[\"form\"][\"seq\"] + \" is not what was signed\")",
    "    if seq is not None and int(line[\"form\"][\"seq\"]) == seq + 1 and line[\"form\"][\"prev\"] != prev:",
    "        sys.exit(\"line \" + line[\"form\"][\"seq\"] + \" does not follow the one before it\")",
    "    seq, prev = int(line[\"form\"][\"seq\"]), own",
    "print(len(book), \"lines are what was signed\")",
];

/// What the recipe shows, and what it does not.
pub const SHOWS: &str = "Beside this file there is one with the same lines as data (lines.json). Each line has its canonical form (RFC 8785), \
    which holds the hash of the line before it, and its own hash, the SHA-256 of that form. The recipe below reckons every hash again and \
    holds each line against the one before it where both are in the file. A span of days holds every line that was written in it, so its chain is \
    unbroken; a batch, a lot or a place holds the lines that concern it, and the hash of the last line of the book, noted when the packet was \
    made, shows by the book's own check that none was changed later.";

/// Who drew it, and when.
#[derive(Debug, Clone)]
pub struct Drawn {
    pub name: String,
    pub initials: String,
    pub at: OffsetDateTime,
}

/// The document.
pub fn document(told: Told, gathered: Gathered, drawn: &Drawn) -> Document {
    let shop = told.shop;
    let title = format!("Packet of {}", gathered.picked.name);
    let (upto, hash) = head(&gathered.picked);
    let mut blocks =
        vec![Block::Title(capital(&gathered.picked.name)), Block::Facts(cover(told, &gathered, drawn))];
    blocks.push(Block::Text(
        "Every line of this packet is a line of the shop's record book, which is written in order, signed, and never erased: what was wrong is \
         struck through and stays readable. It says which recorded criteria were met. Local codes, the regulator and a process authority decide \
         what they mean."
            .into(),
    ));
    blocks.push(Block::Section("How to check it".into()));
    blocks.push(Block::Text(SHOWS.into()));
    blocks.push(Block::Typed(RECIPE.iter().map(|line| (*line).to_owned()).collect()));
    blocks.push(Block::Section("What is in it".into()));
    blocks.push(Block::Table(contents(&gathered.sections)));
    blocks.push(Block::Sheet);
    for section in gathered.sections {
        blocks.push(Block::Section(section.name.into()));
        if section.rows.is_empty() {
            blocks.push(Block::Aside("The book has no line of this.".into()));
            continue;
        }
        if !section.about.is_empty() {
            blocks.push(Block::Aside(section.about.into()));
        }
        blocks.push(Block::Table(Table { columns: section.columns, rows: section.rows }));
    }
    blocks.push(Block::Section("Who signed".into()));
    blocks.push(Block::Facts(gathered.signers.into_iter().collect()));
    Document {
        author: shop.name.clone(),
        language: "en",
        made_at: drawn.at,
        paper: match shop.system {
            UnitSystem::Metric => Paper::A4,
            UnitSystem::Us => Paper::Letter,
        },
        head: format!("{} · {title}", shop.name),
        foot: format!("Book up to line {upto} · {}…", &hash[..16]),
        title,
        blocks,
    }
}

fn cover(told: Told, gathered: &Gathered, drawn: &Drawn) -> Vec<(String, String)> {
    let shop = told.shop;
    let (upto, hash) = head(&gathered.picked);
    let number = if shop.number.is_empty() { "none given".into() } else { shop.number.clone() };
    let mut facts: Vec<(String, String)> =
        vec![("Shop".into(), format!("{}\n{}", shop.name, shop.address)), ("Establishment".into(), number)];
    facts.extend(gathered.picked.facts.iter().cloned());
    if let Scope::Place(_, from, to) | Scope::Days(from, to) = gathered.scope {
        facts.push(("Span".into(), format!("{} to {}, both days in it", day_year(from), day_year(to))));
    }
    if let Some((first, last)) = gathered.span {
        facts.push(("Its lines happened".into(), format!("{} to {}", told.at(first), told.at(last))));
    }
    facts.push(("Drawn".into(), format!("{} by {} ({})", told.at(drawn.at), drawn.name, drawn.initials)));
    facts.push(("Times".into(), format!("of {}", shop.zone.name())));
    facts.push(("Last line of the book".into(), format!("{upto}, hash {hash}")));
    facts.push(("Rests on".into(), format!("{} lines of the book", gathered.picked.seqs.len())));
    facts
}

fn contents(sections: &[Section]) -> Table {
    use super::paper::{Column, Row};
    let row = |section: &Section| Row {
        cells: vec![section.name.to_owned(), section.rows.len().to_string()],
        struck: None,
    };
    Table {
        columns: vec![Column::new("Section", 8), Column::figure("Rows", 1)],
        rows: sections.iter().map(row).collect(),
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
