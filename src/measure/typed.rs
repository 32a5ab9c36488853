//! What people type as a number, in any script and with either decimal mark, before a unit gives it meaning.

use rust_decimal::Decimal;

/// Longest text that is read as a measure, in characters after trimming.
pub(super) const LONGEST: usize = 40;

/// The zeros of the decimal digits in Unicode's category Nd that a keyboard or a paste is likely to bring; the nine
/// digits after each follow it in order (Unicode Standard, section 4.6).
const ZEROS: [char; 17] = [
    '\u{0660}', '\u{06F0}', '\u{07C0}', '\u{0966}', '\u{09E6}', '\u{0A66}', '\u{0AE6}', '\u{0B66}',
    '\u{0BE6}', '\u{0C66}', '\u{0CE6}', '\u{0D66}', '\u{0E50}', '\u{0ED0}', '\u{0F20}', '\u{1040}',
    '\u{17E0}',
];

/// What a comma or a point before exactly three last digits means, by what is being measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Marks {
    /// Grams have two decimals, so `1,200` and `1.200` may both be twelve hundred: neither is taken.
    Grams,
    /// Heavier units and prices: `1,200` is not taken, `1.742` is a decimal, as we print it.
    Careful,
    /// Readings never reach a thousand with decimals: any lone mark is a decimal mark.
    Decimal,
    /// Money and ppm have no thousandths: `1,200` is twelve hundred, `1.200` is not taken.
    Money,
}

/// Why a number was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Unread {
    Unclear,
    Negative,
    TooLarge,
    /// It can be read two ways: with a decimal mark, or with thousands.
    Ambiguous {
        small: String,
        large: String,
    },
}

/// An exact amount as a fraction, so that a third of a pound is rounded once, at the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Amount {
    top: Decimal,
    bottom: Decimal,
}

impl Amount {
    /// The amount times a factor; nothing when it is too large to count.
    pub(super) fn times(self, factor: Decimal) -> Option<Decimal> {
        self.top.checked_mul(factor)?.checked_div(self.bottom)
    }

    pub(super) fn value(self) -> Decimal {
        self.top / self.bottom
    }

    pub(super) fn is_whole(self) -> bool {
        self.bottom == Decimal::ONE && self.top.fract().is_zero()
    }
}

/// One spelling for everything: ASCII digits, marks and minus, lower case, single spaces, `½` as ` 1/2`.
pub(super) fn tidy(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        if c.is_whitespace() {
            out.push(' ');
        } else if let Some(plain) = respelled(c) {
            out.push_str(plain);
        } else if let Some(digit) = digit(c) {
            out.push(digit);
        } else if !is_invisible(c) {
            out.extend(narrow(c).to_lowercase());
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn digit(c: char) -> Option<char> {
    ZEROS.iter().find_map(|&zero| {
        let step = (c as u32).checked_sub(zero as u32)?;
        if step < 10 { char::from_digit(step, 10) } else { None }
    })
}

/// Full-width forms (U+FF01 to U+FF5E) stand at a fixed distance from ASCII.
fn narrow(c: char) -> char {
    match c as u32 {
        code @ 0xFF01..=0xFF5E => char::from_u32(code - 0xFEE0).unwrap_or(c),
        _ => c,
    }
}

/// Marks of direction and of zero width that a paste brings along.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200B}'..='\u{200F}' | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}' | '\u{061C}')
}

fn respelled(c: char) -> Option<&'static str> {
    Some(match c {
        '\u{2212}' | '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2013}' | '\u{FE63}' | '\u{FF0D}' => "-",
        '\u{2044}' | '\u{2215}' => "/",
        '\u{066B}' => ".",
        '\u{066C}' => ",",
        '\u{066A}' => "%",
        '\u{2103}' => "°c",
        '\u{2109}' => "°f",
        '\u{00BA}' | '\u{02DA}' => "°",
        '\u{338F}' => "kg",
        '½' => " 1/2",
        '⅓' => " 1/3",
        '⅔' => " 2/3",
        '¼' => " 1/4",
        '¾' => " 3/4",
        '⅕' => " 1/5",
        '⅖' => " 2/5",
        '⅗' => " 3/5",
        '⅘' => " 4/5",
        '⅙' => " 1/6",
        '⅚' => " 5/6",
        '⅛' => " 1/8",
        '⅜' => " 3/8",
        '⅝' => " 5/8",
        '⅞' => " 7/8",
        _ => return None,
    })
}

/// Reads a tidy number without unit: `925`, `1,2`, `1 234.5`, `8 1/2`, `8-1/2`, `1/2`.
pub(super) fn amount(text: &str, marks: Marks) -> Result<Amount, Unread> {
    let text = text.trim();
    if text.strip_prefix('-').is_some_and(|rest| rest.trim_start().starts_with(|c: char| c.is_ascii_digit()))
    {
        return Err(Unread::Negative);
    }
    match text.split_once('/') {
        Some((before, bottom)) => fraction(before.trim_end(), bottom.trim_start()),
        None => Ok(Amount { top: number(text, marks)?, bottom: Decimal::ONE }),
    }
}

/// As [`amount`], but a minus before it is part of the value.
pub(super) fn signed_amount(text: &str, marks: Marks) -> Result<Decimal, Unread> {
    let text = text.trim();
    match text.strip_prefix('-') {
        Some(rest) => Ok(-amount(rest, marks)?.value()),
        None => Ok(amount(text.strip_prefix('+').unwrap_or(text), marks)?.value()),
    }
}

/// `8 1/2` split at its slash. The fraction must be less than one and its bottom at most two digits.
fn fraction(before: &str, bottom: &str) -> Result<Amount, Unread> {
    let (whole, top) = before.rsplit_once([' ', '-']).unwrap_or(("0", before));
    let part = |text: &str| -> Result<Decimal, Unread> {
        if (1..=2).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit()) {
            text.parse::<u32>().map(Decimal::from).map_err(|_| Unread::Unclear)
        } else {
            Err(Unread::Unclear)
        }
    };
    let whole = number(whole.trim(), Marks::Careful)?;
    let (top, bottom) = (part(top)?, part(bottom)?);
    if top >= bottom || !whole.fract().is_zero() {
        return Err(Unread::Unclear);
    }
    let top = whole.checked_mul(bottom).and_then(|whole| whole.checked_add(top)).ok_or(Unread::TooLarge)?;
    Ok(Amount { top, bottom })
}

/// Digits with marks, and with spaces between thousands (ISO 80000-1 sets them off so).
fn number(text: &str, marks: Marks) -> Result<Decimal, Unread> {
    let joined = join_thousands(text)?;
    let spaced = joined.len() < text.len();
    let found: Vec<(usize, char)> = joined.char_indices().filter(|(_, c)| !c.is_ascii_digit()).collect();
    if found.iter().any(|(_, c)| !matches!(c, '.' | ',')) || !joined.ends_with(|c: char| c.is_ascii_digit()) {
        return Err(Unread::Unclear);
    }
    let Some(&(last, mark)) = found.last() else { return decimal(&joined) };
    let (whole, part) = (&joined[..last], &joined[last + 1..]);
    let alone = found.len() == 1;
    if alone && !spaced && looks_like_a_thousand(whole, part) {
        return lone_mark(whole, part, mark, marks);
    }
    if alone {
        return decimal(&format!("0{whole}.{part}"));
    }
    let other = if mark == '.' { ',' } else { '.' };
    if found.iter().all(|&(_, c)| c == mark) {
        return groups(&joined, mark).and_then(|digits| decimal(&digits));
    }
    if spaced || found.iter().filter(|&&(_, c)| c == mark).count() > 1 {
        return Err(Unread::Unclear);
    }
    groups(whole, other).and_then(|digits| decimal(&format!("{digits}.{part}")))
}

/// One to three digits, not led by zero, then a mark, then exactly three: `1,200`.
fn looks_like_a_thousand(whole: &str, part: &str) -> bool {
    (1..=3).contains(&whole.len()) && !whole.starts_with('0') && part.len() == 3
}

fn lone_mark(whole: &str, part: &str, mark: char, marks: Marks) -> Result<Decimal, Unread> {
    let as_decimal = format!("{whole}.{part}");
    let as_thousands = format!("{whole}{part}");
    match (marks, mark) {
        (Marks::Decimal, _) | (Marks::Careful, '.') => decimal(&as_decimal),
        (Marks::Money, ',') => decimal(&as_thousands),
        _ => Err(Unread::Ambiguous {
            small: decimal(&as_decimal)?.normalize().to_string(),
            large: as_thousands,
        }),
    }
}

/// Takes the marks out of proper groups of three: `1,234,567`.
fn groups(text: &str, mark: char) -> Result<String, Unread> {
    let mut parts = text.split(mark);
    let first = parts.next().unwrap_or_default();
    let proper =
        (1..=3).contains(&first.len()) && !first.starts_with('0') && parts.all(|part| part.len() == 3);
    if proper { Ok(text.replace(mark, "")) } else { Err(Unread::Unclear) }
}

/// `1 234,5` as `1234,5`; a space anywhere else is not part of one number.
fn join_thousands(text: &str) -> Result<String, Unread> {
    let mut parts = text.split(' ').peekable();
    let first = parts.next().unwrap_or_default();
    if parts.peek().is_none() {
        return Ok(first.to_owned());
    }
    let digits = |run: &str| run.bytes().all(|b| b.is_ascii_digit());
    let mut joined = first.to_owned();
    let mut proper = (1..=3).contains(&first.len()) && digits(first) && !first.starts_with('0');
    while let Some(part) = parts.next() {
        let whole =
            if parts.peek().is_none() { part.split(['.', ',']).next().unwrap_or_default() } else { part };
        proper &= whole.len() == 3 && digits(whole);
        joined.push_str(part);
    }
    if proper { Ok(joined) } else { Err(Unread::Unclear) }
}

fn decimal(digits: &str) -> Result<Decimal, Unread> {
    let digits =
        if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.') } else { digits };
    if digits.is_empty() {
        return Err(Unread::Unclear);
    }
    let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
    if whole.trim_start_matches('0').len() > 15 {
        return Err(Unread::TooLarge);
    }
    let part: String = part.chars().take(10).collect();
    Decimal::from_str_exact(format!("{whole}.{part}0").as_str())
        .map(|d| d.normalize())
        .map_err(|_| Unread::Unclear)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, marks: Marks) -> Result<String, Unread> {
        amount(&tidy(text), marks).map(|amount| amount.value().normalize().to_string())
    }

    #[test]
    fn one_spelling_comes_of_many() {
        assert_eq!(tidy("  ８\u{202F}½\u{00A0}ＬＢ "), "8 1/2 lb");
        assert_eq!(tidy("\u{200E}٩٢٫٤ ㎏"), "92.4 kg");
        assert_eq!(tidy("−18 ℃"), "-18 °c");
    }

    #[test]
    fn either_mark_is_a_decimal_mark_where_it_cannot_be_a_thousand() {
        for (typed, value) in [
            ("925", "925"),
            ("1,2", "1.2"),
            ("0,925", "0.925"),
            ("1.742", "1.742"),
            (",5", "0.5"),
            (".25", "0.25"),
            ("1234,567", "1234.567"),
            ("1,2345", "1.2345"),
            ("1,234.5", "1234.5"),
            ("1.234,5", "1234.5"),
            ("1,234,567", "1234567"),
            ("1 234,5", "1234.5"),
            ("12 345 678", "12345678"),
            ("8 1/2", "8.5"),
            ("8-1/2", "8.5"),
            ("1 / 4", "0.25"),
        ] {
            assert_eq!(read(typed, Marks::Careful).as_deref(), Ok(value), "{typed}");
        }
    }

    #[test]
    fn a_comma_that_may_be_a_thousand_is_not_guessed_at() {
        let two =
            |small: &str, large: &str| Err(Unread::Ambiguous { small: small.into(), large: large.into() });
        assert_eq!(read("1,200", Marks::Careful), two("1.2", "1200"));
        assert_eq!(read("1.200", Marks::Grams), two("1.2", "1200"));
        assert_eq!(read("1,200", Marks::Decimal).as_deref(), Ok("1.2"));
        assert_eq!(read("1,200", Marks::Money).as_deref(), Ok("1200"));
        assert_eq!(read("1.200", Marks::Money), two("1.2", "1200"));
    }

    #[test]
    fn what_is_not_one_number_is_not_taken() {
        for typed in [
            "",
            ".",
            ",",
            "5.",
            "1..2",
            "1,2,3",
            "12,34.5",
            "1.2.3",
            "1 2",
            "8 3/2",
            "1/0",
            "0/0",
            "1/2/3",
            "5-10",
            "1e3",
            "--1",
            "8.5 1/2",
            "1 234 5",
            "01 234",
            "1,234.5,6",
            "x",
        ] {
            assert_eq!(read(typed, Marks::Careful), Err(Unread::Unclear), "{typed}");
        }
        assert_eq!(read("−5", Marks::Careful), Err(Unread::Negative));
        assert_eq!(read("99999999999999999999", Marks::Careful), Err(Unread::TooLarge));
    }
}
