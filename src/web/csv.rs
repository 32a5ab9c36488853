<<<<<<< HEAD
//! Tables as files for a spreadsheet: RFC 4180, in UTF-8, with a comma between cells.

/// A table being written, row by row.
#[derive(Debug, Clone, Default)]
pub struct Csv(String);

=======
//! Tables as comma-separated values: RFC 4180, and safe to open in a spreadsheet.

use std::fmt::Display;

/// A table that is being written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Csv(String);

/// One cell. A figure is ours and stands as it is; a text is somebody's and must not be taken for a formula.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    Text(String),
    Figure(String),
}

impl Cell {
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    pub fn figure(figure: &impl Display) -> Self {
        Self::Figure(figure.to_string())
    }

    /// An empty cell where there is no figure: unknown is not zero.
    pub fn maybe(figure: Option<&impl Display>) -> Self {
        Self::Figure(figure.map(ToString::to_string).unwrap_or_default())
    }

    /// A spreadsheet runs what begins with one of these; an apostrophe before it makes it text.
    fn harmless(&self) -> String {
        match self {
            Self::Text(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => format!("'{text}"),
            Self::Text(text) | Self::Figure(text) => text.clone(),
        }
    }
}

>>>>>>> block
impl Csv {
    /// A table with these heads.
    pub fn new(heads: &[&str]) -> Self {
        let mut csv = Self::default();
<<<<<<< HEAD
        csv.row(heads);
        csv
    }

    /// One row. A text that a spreadsheet would take for a formula gets an apostrophe before it, so that what a
    /// supplier or a customer is called is never run.
    pub fn row<T: AsRef<str>>(&mut self, cells: &[T]) {
        let cells: Vec<String> = cells.iter().map(|cell| quoted(cell.as_ref())).collect();
        self.0.push_str(&cells.join(","));
=======
        csv.row(&heads.iter().map(|head| Cell::text(*head)).collect::<Vec<_>>());
        csv
    }

    pub fn row(&mut self, cells: &[Cell]) {
        for (n, cell) in cells.iter().enumerate() {
            if n > 0 {
                self.0.push(',');
            }
            let text = cell.harmless();
            if text.contains([',', '"', '\r', '\n']) {
                self.0.push('"');
                self.0.push_str(&text.replace('"', "\"\""));
                self.0.push('"');
            } else {
                self.0.push_str(&text);
            }
        }
>>>>>>> block
        self.0.push_str("\r\n");
    }

    pub fn into_bytes(self) -> Vec<u8> {
        self.0.into_bytes()
    }
}

<<<<<<< HEAD
fn quoted(cell: &str) -> String {
    let number = cell.parse::<rust_decimal::Decimal>().is_ok();
    let guard = if !number && cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { "'" } else { "" };
    if cell.contains(['"', ',', '\n', '\r']) {
        format!("\"{guard}{}\"", cell.replace('"', "\"\""))
    } else {
        format!("{guard}{cell}")
    }
}

=======
>>>>>>> block
#[cfg(test)]
mod tests {
    use super::*;

<<<<<<< HEAD
    #[test]
    fn a_cell_with_a_comma_a_quote_or_a_line_break_is_quoted() {
        // RFC 4180, section 2, rules 5 to 7.
        let mut csv = Csv::new(&["name", "address"]);
        csv.row(&["The \"Ladle\"", "9 Weir Street,\nElverford"]);
        let text = String::from_utf8(csv.into_bytes()).unwrap();
        assert_eq!(text, "name,address\r\n\"The \"\"Ladle\"\"\",\"9 Weir Street,\nElverford\"\r\n");
    }

    #[test]
    fn a_name_that_looks_like_a_formula_stays_a_name_and_a_loss_stays_a_number() {
        assert_eq!(quoted("=1+1"), "'=1+1");
        assert_eq!(quoted("-12.50"), "-12.50");
=======
    fn written(cells: &[Cell]) -> String {
        let mut csv = Csv::default();
        csv.row(cells);
        csv.0
    }

    #[test]
    fn commas_quotes_and_line_ends_are_kept_inside_their_cell() {
        assert_eq!(
            written(&[Cell::text("pork leg, whole"), Cell::text("the \"good\" one"), Cell::text("a\nb")]),
            "\"pork leg, whole\",\"the \"\"good\"\" one\",\"a\nb\"\r\n"
        );
    }

    #[test]
    fn a_name_that_looks_like_a_formula_is_text_and_a_figure_below_zero_is_a_figure() {
        for formula in ["=1+1", "+1", "-1", "@sum", "\t=1"] {
            assert!(written(&[Cell::text(formula)]).starts_with('\''), "{formula}");
        }
        assert_eq!(written(&[Cell::figure(&-12)]), "-12\r\n");
        assert_eq!(written(&[Cell::maybe(None::<&i32>), Cell::maybe(Some(&3))]), ",3\r\n");
>>>>>>> block
    }
}
