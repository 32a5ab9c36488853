//! A logger's file as rows and cells: its letters, what stands between its columns, where its head is.

use super::moment::Order;
use crate::error::Refusal;

/// How many lines are looked at to find out what stands between the columns.
const LOOKED_AT: usize = 300;
/// How far down the head of the columns may stand: above it loggers write who they are.
const HEAD_WITHIN: usize = 60;

/// A file, cut into cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet<'a> {
    pub delimiter: char,
    /// What stands over the columns; "column 1" and so on where nothing does.
    pub head: Vec<String>,
    /// Its rows, each with its line in the file.
    pub rows: Vec<(usize, Vec<&'a str>)>,
}

/// The letters of a file: UTF-8, UTF-16 where it says so, else the Windows and Latin-1 letters of western loggers.
pub fn letters(bytes: &[u8]) -> String {
    let wide = |bytes: &[u8], read: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes.chunks_exact(2).map(|pair| read([pair[0], pair[1]])).collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes),
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        _ => std::str::from_utf8(bytes)
            .map_or_else(|_| bytes.iter().copied().map(char::from).collect(), ToOwned::to_owned),
    }
}

impl<'a> Sheet<'a> {
    /// Cuts a file into its cells.
    ///
    /// # Errors
    /// A refusal where no row has a time and a figure.
    pub fn cut(text: &'a str) -> Result<Self, Refusal> {
        let lines: Vec<(usize, &str)> =
            (1..).zip(text.lines()).filter(|(_, line)| !line.trim().is_empty()).collect();
        let delimiter = delimiter(&lines);
        let mut rows: Vec<(usize, Vec<&str>)> =
            lines.iter().map(|(nr, line)| (*nr, cells(line, delimiter))).collect();
        let first =
            rows.iter().take(HEAD_WITHIN).position(|(_, row)| is_of_samples(row)).ok_or_else(|| {
                Refusal::at(
                    "file",
                    "No line in it has a time and a figure beside it. Is it the logger's file?",
                )
            })?;
        let width = rows[first].1.len();
        let head = first
            .checked_sub(1)
            .map(|above| &rows[above].1)
            .filter(|above| above.len() + 1 >= width && above.len() >= 2);
        let head = (0..width)
            .map(|n| match head.and_then(|above| above.get(n)).map(|name| name.trim()) {
                Some(name) if !name.is_empty() => name.to_owned(),
                _ => format!("column {}", n + 1),
            })
            .collect();
        rows.drain(..first);
        Ok(Self { delimiter, head, rows })
    }

    /// One column, cell by cell; empty where a row is too short for it.
    pub fn column(&self, n: usize) -> impl Iterator<Item = &'a str> + '_ {
        self.rows.iter().map(move |(_, row)| row.get(n).copied().unwrap_or_default())
    }

    /// What the file is known again by.
    pub fn header(&self) -> String {
        self.head.join(&self.delimiter.to_string())
    }
}

/// Whether a row has a time in one cell, or a day and a time in two, and a figure in another.
fn is_of_samples(row: &[&str]) -> bool {
    let time = row.iter().position(|cell| Order::ALL.iter().any(|order| order.is_day(cell)));
    let Some(time) = time else { return false };
    row.iter().enumerate().any(|(n, cell)| n != time && is_figure(cell))
}

/// Whether a cell holds a figure, with a unit or without.
pub fn is_figure(cell: &str) -> bool {
    super::understood::figure(cell, cell.contains(',')).is_some()
}

/// The sign that cuts most lines into the same number of cells.
fn delimiter(lines: &[(usize, &str)]) -> char {
    let agree = |sign: char| {
        let counts: Vec<usize> =
            lines.iter().rev().take(LOOKED_AT).map(|(_, line)| cells(line, sign).len()).collect();
        let usual = counts.first().copied().unwrap_or(1);
        if usual < 2 { 0 } else { counts.iter().filter(|count| **count == usual).count() }
    };
    // A comma between columns is the last guess: it may be a decimal comma.
    let mut best = (',', agree(','));
    for sign in ['|', '\t', ';'] {
        let count = agree(sign);
        if count * 10 >= best.1 * 9 && count > 0 {
            best = (sign, count);
        }
    }
    best.0
}

/// The cells of a line; what stands in quotation marks is one.
fn cells(line: &str, delimiter: char) -> Vec<&str> {
    let mut found = Vec::new();
    let (mut from, mut quoted) = (0, false);
    for (at, sign) in line.char_indices() {
        if sign == '"' {
            quoted = !quoted;
        } else if sign == delimiter && !quoted {
            found.push(cell(&line[from..at]));
            from = at + sign.len_utf8();
        }
    }
    found.push(cell(&line[from..]));
    found
}

fn cell(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix('"').and_then(|inner| inner.strip_suffix('"')).unwrap_or(text).trim()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_head_below_the_words_of_the_logger_is_found() {
        let text = "Device: attic 7\nSerial;4711\n\nDate;Time;Temp (°C);RH (%)\n25.11.2026;07:20;12,4;78,5\n25.11.2026;07:25;12,5;78,1\n";
        let sheet = Sheet::cut(text).expect("cut");
        assert_eq!(sheet.delimiter, ';');
        assert_eq!(sheet.head, ["Date", "Time", "Temp (°C)", "RH (%)"]);
        assert_eq!(sheet.rows[0], (5, vec!["25.11.2026", "07:20", "12,4", "78,5"]));
    }

    #[test]
    fn a_decimal_comma_is_not_taken_for_a_sign_between_columns() {
        let sheet = Sheet::cut("time;t\n2026-11-25 07:20;12,4\n2026-11-25 07:25;12,5\n").expect("cut");
        assert_eq!((sheet.delimiter, sheet.rows[1].1.len()), (';', 2));
        let sheet = Sheet::cut("\"time\",\"t\"\n\"2026-11-25 07:20\",\"12,4\"\n").expect("cut");
        assert_eq!(sheet.rows[0].1, ["2026-11-25 07:20", "12,4"]);
    }

    #[test]
    fn a_file_without_a_head_has_numbered_columns() {
        let sheet = Sheet::cut("2026-11-25T07:20:00Z\t12.4\n2026-11-25T07:25:00Z\t12.4\n").expect("cut");
        assert_eq!(sheet.head, ["column 1", "column 2"]);
        assert_eq!(sheet.header(), "column 1\tcolumn 2");
    }

    #[test]
    fn a_letter_is_no_file_of_samples() {
        assert!(Sheet::cut("Dear all,\nthe logger is broken.\n").is_err());
        assert!(Sheet::cut("").is_err());
    }

    #[test]
    fn the_letters_of_other_days_are_read() {
        assert_eq!(letters("t;°C".as_bytes()), "t;°C");
        assert_eq!(letters(&[b't', b';', 0xb0, b'C']), "t;°C");
        assert_eq!(letters(&[0xff, 0xfe, b't', 0, b';', 0]), "t;");
        assert_eq!(letters(&[0xef, 0xbb, 0xbf, b't']), "t");
    }
}
