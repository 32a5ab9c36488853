//! Lot codes: what is written on the tag.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;
use time::Date;

use super::stored::text_column;
use super::typed::{LONGEST, tidy};

/// `26329-02`, or `26329-02.05` for a piece: two digits of the year (20 stands before them), day of the year 001 to 366,
/// number of the day, piece. Number and piece are from 1 to 9999 and have at least two digits.
///
/// Sorts by age: by day, then number, then piece, a lot before its pieces. As text in the database it does so up
/// to number 99 only. The day-of-year form is common practice on packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LotCode {
    day: Date,
    number: u16,
    piece: Option<u16>,
}

text_column!(LotCode);

/// Why a code was not taken, as a sentence for the person who typed or scanned it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CodeError {
    #[error("Enter a code, such as 26329-02 or 26329-02.05.")]
    Empty,
    #[error("This cannot be read as a code. Write it as 26329-02 or 26329-02.05.")]
    NotUnderstood,
    #[error(
        "There is no day {day} in the year 20{year:02}. The first five digits are the year and the day of the year."
    )]
    NoSuchDay { year: u8, day: u16 },
    #[error("Numbers on a code go from 1 to 9999.")]
    NoSuchNumber,
    #[error("Codes are for days from 2000 to 2099.")]
    NoSuchYear,
}

impl LotCode {
    /// A lot of a day: the `number`th, from 1 to 9999. The day must lie in the years 2000 to 2099.
    pub fn first(day: Date, number: u16) -> Result<Self, CodeError> {
        if !(2000..=2099).contains(&day.year()) {
            return Err(CodeError::NoSuchYear);
        }
        Ok(Self { day, number: counted(number)?, piece: None })
    }

    /// The `number`th piece of this lot, or of the lot that this piece is of; from 1 to 9999.
    pub fn piece(self, number: u16) -> Result<Self, CodeError> {
        Ok(Self { piece: Some(counted(number)?), ..self })
    }

    /// The lot that a piece is of; a lot's own code.
    #[must_use]
    pub const fn root(self) -> Self {
        Self { piece: None, ..self }
    }

    /// Which piece it is; nothing for a lot that is no piece.
    pub const fn piece_number(self) -> Option<u16> {
        self.piece
    }

    /// Whether it is a lot, not a piece of one.
    pub const fn is_root(self) -> bool {
        self.piece.is_none()
    }

    /// Its number among the lots of its day.
    pub const fn number(self) -> u16 {
        self.number
    }

    /// The first five digits: two of the year, three of the day.
    pub fn day(self) -> String {
        format!("{:02}{:03}", self.day.year() % 100, self.day.ordinal())
    }

    /// The day in the code.
    pub const fn date(self) -> Date {
        self.day
    }

    /// Reads a code as typed or scanned: spaces anywhere, a missing leading zero (`26329-2`), long dashes, a leading `L`
    /// or `LOT` (as Directive 2011/91/EU has it on packs), a scanner's symbology mark (`]Q1`), or the whole address of
    /// the lot's page, which is what a tag's QR code holds.
    pub fn parse(text: &str) -> Result<Self, CodeError> {
        let text = last_of_address(text.trim());
        let tidied = tidy(text).replace(' ', "");
        if tidied.is_empty() {
            return Err(CodeError::Empty);
        }
        if tidied.chars().count() > LONGEST {
            return Err(CodeError::NotUnderstood);
        }
        let bare = without_scanner_mark(&tidied);
        let bare = bare.strip_prefix("lot").or_else(|| bare.strip_prefix('l')).unwrap_or(bare);
        let bare = bare.trim_start_matches([':', '#']);
        let (day, rest) = bare.split_once('-').ok_or(CodeError::NotUnderstood)?;
        let (number, piece) =
            rest.split_once('.').map_or((rest, None), |(number, piece)| (number, Some(piece)));
        let day = year_and_day(day)?;
        let piece = piece.map(digits).transpose()?;
        Ok(Self { day, number: digits(number)?, piece })
    }
}

/// What stands last in an address, without what follows `?` or `#`; any other text as it is.
fn last_of_address(text: &str) -> &str {
    if !text.contains("://") {
        return text;
    }
    let path = text.split(['?', '#']).next().unwrap_or(text).trim_end_matches('/');
    path.rsplit('/').next().unwrap_or(path)
}

/// ISO/IEC 15424: a scanner may send `]`, a letter and a digit before what it read.
fn without_scanner_mark(text: &str) -> &str {
    match text.strip_prefix(']') {
        Some(rest) if rest.is_char_boundary(2) => &rest[2..],
        _ => text,
    }
}

fn year_and_day(text: &str) -> Result<Date, CodeError> {
    if text.len() != 5 || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(CodeError::NotUnderstood);
    }
    let year = text[..2].parse::<u8>().map_err(|_| CodeError::NotUnderstood)?;
    let day = text[2..].parse::<u16>().map_err(|_| CodeError::NotUnderstood)?;
    Date::from_ordinal_date(2000 + i32::from(year), day).map_err(|_| CodeError::NoSuchDay { year, day })
}

fn digits(text: &str) -> Result<u16, CodeError> {
    if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(CodeError::NotUnderstood);
    }
    text.parse().map_err(|_| CodeError::NoSuchNumber).and_then(counted)
}

fn counted(number: u16) -> Result<u16, CodeError> {
    if (1..=9999).contains(&number) { Ok(number) } else { Err(CodeError::NoSuchNumber) }
}

/// The canonical form, as on the tag.
impl fmt::Display for LotCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}{:03}-{:02}", self.day.year() % 100, self.day.ordinal(), self.number)?;
        self.piece.map_or(Ok(()), |piece| write!(f, ".{piece:02}"))
    }
}

impl FromStr for LotCode {
    type Err = CodeError;

    fn from_str(text: &str) -> Result<Self, CodeError> {
        Self::parse(text)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use time::macros::date;

    use super::*;

    fn code(text: &str) -> LotCode {
        text.parse().unwrap()
    }

    #[test]
    fn a_code_says_the_day_the_number_and_the_piece() {
        // 25 November 2026 is day 329 (ISO 8601 ordinal date 2026-329).
        let lot = LotCode::first(date!(2026 - 11 - 25), 2).unwrap();
        assert_eq!(lot.to_string(), "26329-02");
        let piece = lot.piece(5).unwrap();
        assert_eq!(piece.to_string(), "26329-02.05");
        assert_eq!(
            (piece.root(), piece.piece_number(), piece.is_root(), lot.is_root()),
            (lot, Some(5), false, true)
        );
        assert_eq!(piece.date(), date!(2026 - 11 - 25));
        assert_eq!(piece.piece(6).unwrap().to_string(), "26329-02.06");
        assert_eq!(LotCode::first(date!(2026 - 01 - 01), 1234).unwrap().to_string(), "26001-1234");
    }

    #[test]
    fn a_code_is_read_as_typed_or_as_scanned() {
        for typed in [
            "26329-02.05",
            " 26329-02.05\r\n",
            "26329 - 02 . 05",
            "26329-2.5",
            "26329\u{2013}02.05",
            "L26329-02.05",
            "Lot 26329-02.05",
            "LOT: 26329-02.05",
            "]Q126329-02.05",
            "http://shop.example:8080/lots/26329-02.05",
            "https://shop.example/lots/26329-02.05/?from=tag#top",
            "٢٦٣٢٩-٠٢.٠٥",
        ] {
            assert_eq!(LotCode::parse(typed).map(|c| c.to_string()).as_deref(), Ok("26329-02.05"), "{typed}");
        }
    }

    #[test]
    fn what_is_no_code_is_refused() {
        for typed in [
            "26329",
            "2632902",
            "26329-",
            "-02",
            "26329-02.",
            "26329-02.05.01",
            "26329-0x",
            "2632-02",
            "263290-02",
            "]",
            "]é",
            "26329-+2",
            "https://",
            "collar",
            "26329-02-05",
            &"2".repeat(50),
        ] {
            assert!(LotCode::parse(typed).is_err(), "{typed}");
        }
        assert_eq!(LotCode::parse(" "), Err(CodeError::Empty));
        assert_eq!(LotCode::parse("26366-01"), Err(CodeError::NoSuchDay { year: 26, day: 366 }));
        assert!(LotCode::parse("28366-01").is_ok(), "2028 is a leap year");
        assert_eq!(LotCode::parse("26000-01"), Err(CodeError::NoSuchDay { year: 26, day: 0 }));
        assert_eq!(LotCode::parse("26329-00"), Err(CodeError::NoSuchNumber));
        assert_eq!(LotCode::parse("26329-10000"), Err(CodeError::NoSuchNumber));
        assert_eq!(LotCode::first(date!(1999 - 12 - 31), 1), Err(CodeError::NoSuchYear));
        assert_eq!(LotCode::first(date!(2100 - 01 - 01), 1), Err(CodeError::NoSuchYear));
        assert_eq!(LotCode::first(date!(2026 - 01 - 01), 0), Err(CodeError::NoSuchNumber));
        assert_eq!(code("26329-02").piece(0), Err(CodeError::NoSuchNumber));
    }

    #[test]
    fn only_the_written_form_is_stored() {
        assert_eq!(serde_json::to_string(&code("26329-02")).unwrap(), "\"26329-02\"");
        assert!(serde_json::from_str::<LotCode>("\"26329-02.05\"").is_ok());
        for bad in ["\"26329-2\"", "\" 26329-02\"", "\"26366-01\"", "26329"] {
            assert!(serde_json::from_str::<LotCode>(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn codes_sort_by_age() {
        let sorted = [
            "25365-99",
            "26001-01",
            "26001-02",
            "26001-02.01",
            "26001-02.10",
            "26001-10",
            "26001-100",
            "26002-01",
        ];
        let mut codes: Vec<LotCode> = sorted.iter().rev().map(|text| code(text)).collect();
        codes.sort();
        assert_eq!(codes.iter().map(ToString::to_string).collect::<Vec<_>>(), sorted);
    }

    fn any_code() -> impl Strategy<Value = LotCode> {
        (0_i32..100, 1_u16..=365, 1_u16..=9999, prop::option::of(1_u16..=9999)).prop_map(
            |(year, day, number, piece)| {
                let lot = LotCode::first(Date::from_ordinal_date(2000 + year, day).unwrap(), number).unwrap();
                piece.map_or(lot, |piece| lot.piece(piece).unwrap())
            },
        )
    }

    proptest! {
        #[test]
        fn a_printed_code_reads_back(code in any_code()) {
            prop_assert_eq!(LotCode::parse(&code.to_string()).unwrap(), code);
        }

        #[test]
        fn an_older_code_comes_first(a in any_code(), b in any_code()) {
            if a.date() < b.date() {
                prop_assert!(a < b);
            }
            prop_assert!(a.root() <= a);
        }

        #[test]
        fn anything_may_be_scanned(text in ".{0,60}") {
            let _ = LotCode::parse(&text);
        }
    }
}
