//! What the book says of a paper, and the rule of which bytes may be one.

use std::str::FromStr;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::book::{Effects, Entry, Line, Say, Seq};
use crate::error::Refusal;
use crate::ids::{BatchId, DeliveryId, DeviationId, InstrumentId, LotId, Named, PaperId, SupplierId};

/// What a paper belongs to, and what that was called then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum About {
    Supplier(Named<SupplierId>),
    Delivery(Named<DeliveryId>),
    Lot(Named<LotId>),
    Batch(Named<BatchId>),
    Deviation(Named<DeviationId>),
    Instrument(Named<InstrumentId>),
    /// A line of the book: a reading, a calibration.
    Line(Seq),
}

impl About {
    /// The word for it in an address.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Supplier(_) => "supplier",
            Self::Delivery(_) => "delivery",
            Self::Lot(_) => "lot",
            Self::Batch(_) => "batch",
            Self::Deviation(_) => "deviation",
            Self::Instrument(_) => "instrument",
            Self::Line(_) => "line",
        }
    }

    pub fn name(&self) -> String {
        match self {
            Self::Supplier(it) => it.name.clone(),
            Self::Delivery(it) => it.name.clone(),
            Self::Lot(it) => it.name.clone(),
            Self::Batch(it) => it.name.clone(),
            Self::Deviation(it) => it.name.clone(),
            Self::Instrument(it) => it.name.clone(),
            Self::Line(seq) => format!("line {seq}"),
        }
    }

    /// The thing that it belongs to; none where it is a line of the book.
    pub fn subject(&self) -> Option<Uuid> {
        match self {
            Self::Supplier(it) => Some(it.id.0),
            Self::Delivery(it) => Some(it.id.0),
            Self::Lot(it) => Some(it.id.0),
            Self::Batch(it) => Some(it.id.0),
            Self::Deviation(it) => Some(it.id.0),
            Self::Instrument(it) => Some(it.id.0),
            Self::Line(_) => None,
        }
    }

    pub fn line(&self) -> Option<Seq> {
        if let Self::Line(seq) = self { Some(*seq) } else { None }
    }

    /// The address of what it belongs to.
    pub fn path(&self) -> String {
        match self {
            Self::Supplier(it) => it.id.path(),
            Self::Delivery(it) => it.id.path(),
            Self::Lot(it) => it.id.path(),
            Self::Batch(it) => it.id.path(),
            Self::Deviation(it) => it.id.path(),
            Self::Instrument(it) => format!("/calibration/{}", it.id),
            Self::Line(seq) => format!("/entries/{seq}"),
        }
    }

    /// As it stands in an address: `supplier/0190…`, `line/412`.
    pub fn key(&self) -> String {
        let id = self.subject().map(|id| id.to_string());
        let id = id.or_else(|| self.line().map(|seq| seq.to_string())).unwrap_or_default();
        format!("{}/{id}", self.word())
    }
}

/// What sort of paper it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "kebab-case")]
#[sqlx(type_name = "text", rename_all = "kebab-case")]
pub enum Sort {
    LetterOfGuarantee,
    Certificate,
    LabResult,
    Specification,
    Docket,
    Photograph,
    Other,
}

impl Sort {
    pub const ALL: [Self; 7] = [
        Self::LetterOfGuarantee,
        Self::Certificate,
        Self::LabResult,
        Self::Specification,
        Self::Docket,
        Self::Photograph,
        Self::Other,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::LetterOfGuarantee => "letter of guarantee",
            Self::Certificate => "certificate",
            Self::LabResult => "laboratory result",
            Self::Specification => "specification",
            Self::Docket => "docket",
            Self::Photograph => "photograph",
            Self::Other => "another paper",
        }
    }
}

impl FromStr for Sort {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|sort| sort.word() == text).ok_or(())
    }
}

/// What the bytes are, told by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "lowercase")]
#[sqlx(type_name = "text", rename_all = "lowercase")]
pub enum Media {
    Pdf,
    Png,
    Jpeg,
    Csv,
    Text,
}

impl Media {
    pub fn word(self) -> &'static str {
        match self {
            Self::Pdf => "PDF",
            Self::Png => "PNG picture",
            Self::Jpeg => "JPEG picture",
            Self::Csv => "table as text (CSV)",
            Self::Text => "plain text",
        }
    }

    /// RFC 8118, RFC 2083, RFC 1341, RFC 4180, RFC 2046.
    pub fn mime(self) -> &'static str {
        match self {
            Self::Pdf => "application/pdf",
            Self::Png => "image/png",
            Self::Jpeg => "image/jpeg",
            Self::Csv => "text/csv; charset=utf-8",
            Self::Text => "text/plain; charset=utf-8",
        }
    }

    /// The ending that its file gets, whatever it was called.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Pdf => "pdf",
            Self::Png => "png",
            Self::Jpeg => "jpg",
            Self::Csv => "csv",
            Self::Text => "txt",
        }
    }

    /// What these bytes are, by their own first bytes and never by a name. Markup is no text: it could carry a script.
    ///
    /// # Errors
    /// A refusal that says what can be taken.
    pub fn of(bytes: &[u8]) -> Result<Self, Refusal> {
        if bytes.is_empty() {
            return Err(Refusal::at("file", "There is nothing in this file."));
        }
        if bytes.starts_with(b"%PDF-") {
            return Ok(Self::Pdf);
        }
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Ok(Self::Png);
        }
        if bytes.starts_with(b"\xff\xd8\xff") {
            return Ok(Self::Jpeg);
        }
        let text = std::str::from_utf8(bytes).ok().map(|text| text.trim_start_matches('\u{feff}'));
        let Some(text) = text.filter(|text| !text.chars().any(no_letter)) else {
            return Err(Refusal::at(
                "file",
                "By its content this is no PDF, PNG or JPEG, and no plain text or CSV in UTF-8. Save it as one of these.",
            ));
        };
        if is_markup(text) {
            return Err(Refusal::at(
                "file",
                "This is HTML, SVG or other markup, which can carry a script. Save it as a PDF or a picture.",
            ));
        }
        Ok(if is_table(text) { Self::Csv } else { Self::Text })
    }
}

fn no_letter(letter: char) -> bool {
    letter.is_control() && !matches!(letter, '\t' | '\n' | '\r' | '\u{c}')
}

fn is_markup(text: &str) -> bool {
    let lower = text.to_ascii_lowercase();
    let tags = ["<!doctype", "<html", "<svg", "<script", "<?xml", "<iframe", "<body", "<head"];
    lower.trim_start().starts_with('<') || tags.iter().any(|tag| lower.contains(tag))
}

/// Two lines or more, each with as many of one separator as the first.
fn is_table(text: &str) -> bool {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    let same = |mark: char| {
        let first = lines.first().map_or(0, |line| line.matches(mark).count());
        first > 0 && lines.iter().all(|line| line.matches(mark).count() == first)
    };
    lines.len() > 1 && [',', ';', '\t'].into_iter().any(same)
}

/// The longest name of a paper, in letters.
const LONGEST: usize = 100;

/// A name that any system can store: no folder, no mark but a dash, a dot, a comma and a low line, and the ending that its
/// content asks for.
pub fn file_name(typed: &str, media: Media) -> String {
    let base = typed.rsplit(['/', '\\']).next().unwrap_or_default();
    let stem = match base.rsplit_once('.') {
        Some((stem, ending)) if !stem.is_empty() && ending.len() <= 5 => stem,
        _ => base,
    };
    let keep = |letter: char| letter.is_alphanumeric() || matches!(letter, ' ' | '-' | '_' | '.' | ',');
    let clean: String =
        stem.chars().map(|letter| if keep(letter) { letter } else { '_' }).take(LONGEST).collect();
    let clean = clean.trim_matches([' ', '.', '_', ',']);
    let clean = if clean.is_empty() { "paper" } else { clean };
    format!("{clean}.{}", media.ending())
}

/// A paper belongs to something from here on. `paper.attached`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PaperAttached {
    pub paper: PaperId,
    pub about: About,
    pub sort: Sort,
    /// Of its file.
    pub name: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    pub media: Media,
    pub bytes: u32,
    /// Of its bytes, in hexadecimal.
    pub sha256: String,
}

impl Entry for PaperAttached {
    const KIND: &'static str = "paper.attached";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().opens(self.paper);
        match self.about.subject() {
            Some(subject) => effects.about(subject),
            None => effects,
        }
    }

    fn line(&self, _say: &Say) -> Line {
        let mut why = vec![format!("{}, {}", self.name, size(self.bytes))];
        if !self.note.is_empty() {
            why.push(self.note.clone());
        }
        let sort = self.sort.word();
        let sort = sort.split_at_checked(1).map(|(first, rest)| first.to_uppercase() + rest);
        Line::new(format!("{} attached to {}", sort.unwrap_or_default(), self.about.name()))
            .why(why.join("; "))
    }
}

/// `312 kB`, `4 kB`: thousands of bytes, rounded up.
pub fn size(bytes: u32) -> String {
    format!("{}\u{a0}kB", bytes.div_ceil(1_000))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_file_is_follows_from_its_first_bytes() {
        let of = |bytes: &[u8]| Media::of(bytes).ok();
        assert_eq!(of(b"%PDF-1.7\n"), Some(Media::Pdf));
        assert_eq!(of(b"\x89PNG\r\n\x1a\n\0\0"), Some(Media::Png));
        assert_eq!(of(b"\xff\xd8\xff\xe0\0"), Some(Media::Jpeg));
        assert_eq!(of("Grüße aus dem Labor".as_bytes()), Some(Media::Text));
        assert_eq!(of(b"sample,aw\n1,0.88\n2,0.879\n"), Some(Media::Csv));
        assert_eq!(of(b"sample;aw\r\n1;0,88\r\n"), Some(Media::Csv));
        assert_eq!(of(b"one line, with a comma"), Some(Media::Text));
    }

    #[test]
    fn markup_programs_and_other_bytes_are_refused() {
        let said = |bytes: &[u8]| Media::of(bytes).expect_err("refused").message;
        for markup in [
            &b"<svg xmlns='http://www.w3.org/2000/svg'/>"[..],
            b"\xef\xbb\xbf  <!DOCTYPE html><p>",
            b"fine so far\n<SCRIPT>alert(1)</SCRIPT>",
            b"<?xml version='1.0'?>",
        ] {
            assert!(said(markup).contains("markup"), "{markup:?}");
        }
        for other in [&b"MZ\x90\0"[..], b"PK\x03\x04", b"GIF89a\x01\0\x01\0", b"\x7fELF", b"caf\xe9"] {
            assert!(said(other).contains("no PDF"), "{other:?}");
        }
        assert!(said(b"").contains("nothing"));
        assert!(said(b" %PDF-1.7\0").contains("no PDF"), "not at its first byte");
    }

    #[test]
    fn a_name_keeps_no_folder_no_quote_and_no_ending_that_its_content_does_not_have() {
        assert_eq!(file_name("letter of guarantee.pdf", Media::Pdf), "letter of guarantee.pdf");
        assert_eq!(file_name("result.exe", Media::Text), "result.txt");
        assert_eq!(file_name("..\\..\\etc/passwd", Media::Png), "passwd.png");
        assert_eq!(file_name("a\"b\r\nset-cookie: x.html", Media::Jpeg), "a_b__set-cookie_ x.jpg");
        assert_eq!(file_name("", Media::Csv), "paper.csv");
        assert_eq!(file_name(".htaccess", Media::Text), "htaccess.txt");
        assert_eq!(file_name("Prüfung März", Media::Pdf), "Prüfung März.pdf");
        assert!(file_name(&"x".repeat(400), Media::Pdf).len() <= LONGEST + 4);
    }

    #[test]
    fn sizes_are_rounded_up() {
        assert_eq!(
            [1, 1_000, 1_001, 10_485_760].map(size),
            ["1\u{a0}kB", "1\u{a0}kB", "2\u{a0}kB", "10486\u{a0}kB"]
        );
    }
}
