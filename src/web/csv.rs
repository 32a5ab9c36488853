//! Tables as files for a spreadsheet: RFC 4180, in UTF-8, with a comma between cells.

/// A table being written, row by row.
#[derive(Debug, Clone, Default)]
pub struct Csv(String);

impl Csv {
    /// A table with these heads.
    pub fn new(heads: &[&str]) -> Self {
        let mut csv = Self::default();
        csv.row(heads);
        csv
    }

    /// One row. A text that a spreadsheet would take for a formula gets an apostrophe before it, so that what a
    /// supplier or a customer is called is never run.
    pub fn row<T: AsRef<str>>(&mut self, cells: &[T]) {
        let cells: Vec<String> = cells.iter().map(|cell| quoted(cell.as_ref())).collect();
        self.0.push_str(&cells.join(","));
        self.0.push_str("\r\n");
    }

    pub fn into_bytes(self) -> Vec<u8> {
        self.0.into_bytes()
    }
}

fn quoted(cell: &str) -> String {
    let number = cell.parse::<rust_decimal::Decimal>().is_ok();
    let guard = if !number && cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { "'" } else { "" };
    if cell.contains(['"', ',', '\n', '\r']) {
        format!("\"{guard}{}\"", cell.replace('"', "\"\""))
    } else {
        format!("{guard}{cell}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
    }
}
