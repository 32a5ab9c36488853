//! Lists as comma-separated values (RFC 4180), for a spreadsheet.

/// One line. A field that a spreadsheet would take for a formula gets an apostrophe before it: names are typed by people.
pub fn line<T: AsRef<str>>(fields: &[T]) -> String {
    let mut text = fields.iter().map(|field| cell(field.as_ref())).collect::<Vec<_>>().join(",");
    text.push_str("\r\n");
    text
}

fn cell(text: &str) -> String {
    let is_number = text.strip_prefix('-').unwrap_or(text).parse::<rust_decimal::Decimal>().is_ok();
    let guarded = if !is_number && text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if guarded.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", guarded.replace('"', "\"\""))
    } else {
        guarded
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_quotes_and_line_breaks_stay_inside_their_field() {
        assert_eq!(line(&["a", "b, c", "d \"e\"", "f\ng"]), "a,\"b, c\",\"d \"\"e\"\"\",\"f\ng\"\r\n");
    }

    #[test]
    fn a_name_that_looks_like_a_formula_is_only_text_and_a_loss_stays_a_number() {
        assert_eq!(line(&["=1+1", "@home", "-3.50", "-salt"]), "'=1+1,'@home,-3.50,'-salt\r\n");
    }
}
