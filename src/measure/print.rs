//! Figures as people read them: fixed decimals, a true minus sign, thousands with a comma.

use rust_decimal::Decimal;

use super::stored::fixed;

/// U+2212, which is as wide as a plus and does not break from its figure.
pub(super) const MINUS: &str = "\u{2212}";

/// The sign and the size of a figure, rounded first so that nothing prints as minus zero.
pub(super) fn signed(value: Decimal, places: u32) -> (&'static str, Decimal) {
    let value = fixed(value, places);
    (if value.is_sign_negative() { MINUS } else { "" }, value.abs())
}

/// `−12.50` for −12.5 at two places.
pub(super) fn figure(value: Decimal, places: u32) -> String {
    let (sign, size) = signed(value, places);
    format!("{sign}{size}")
}

/// As many decimals as are not zero, up to `places`: `12.5`, `925`.
pub(super) fn short_figure(value: Decimal, places: u32) -> String {
    let (sign, size) = signed(value, places);
    format!("{sign}{}", size.normalize())
}

/// Commas between thousands of a figure without sign: `12345.60` as `12,345.60`.
pub(super) fn grouped(size: Decimal) -> String {
    let text = size.to_string();
    let (whole, part) =
        text.split_once('.').map_or((text.as_str(), None), |(whole, part)| (whole, Some(part)));
    let mut out = String::with_capacity(text.len() + whole.len() / 3);
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    if let Some(part) = part {
        out.push('.');
        out.push_str(part);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_set_off_by_commas() {
        for (from, to) in
            [("5", "5"), ("999.50", "999.50"), ("1000", "1,000"), ("1234567.80", "1,234,567.80")]
        {
            assert_eq!(grouped(from.parse().unwrap()), to);
        }
    }

    #[test]
    fn what_rounds_to_zero_has_no_minus() {
        assert_eq!(figure("-0.04".parse().unwrap(), 1), "0.0");
        assert_eq!(figure("-0.05".parse().unwrap(), 1), "\u{2212}0.1");
        assert_eq!(short_figure("-12.50".parse().unwrap(), 2), "\u{2212}12.5");
    }
}
