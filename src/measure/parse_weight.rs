//! Weights as people say them: `925 g`, `0.925 kg`, `1,2 kg`, `2 lb 8 oz`, `2 lb 8`, `8 1/2 lb`, `40oz`.
//!
//! A comma may be a decimal mark or set off thousands. It is taken as what it can only be: `1,2`, `0,925` and
//! `1234,567` are decimals, `1,234.5` and `1,234,567` have thousands. A lone comma before exactly three last digits,
//! as in `1,200`, could be either and is refused; the answer says how to write both. A point is a decimal mark, as
//! we print it (`1.742 kg`), but in grams, which have two decimals, `1.200` is refused like `1,200`. Thousands may also be set
//! off by spaces: `1 234`. Where a wrong guess would be a thousandfold slip, no guess is made.

use rust_decimal::Decimal;
use thiserror::Error;

use super::exact::ExactGrams;
use super::grams::Grams;
use super::typed::{Amount, LONGEST, Marks, Unread, amount, tidy};
use super::units::WeightUnit;

/// Heaviest weight that is read: 100,000 kg.
const HEAVIEST: Decimal = Decimal::from_parts(100_000_000, 0, 0, false, 0);

/// Why a typed weight was not taken, as a sentence for the person who typed it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WeightError {
    #[error("Enter a weight, such as 925 g, 1.2 kg or 2 lb 8 oz.")]
    Empty,
    #[error("This is too long for a weight. Write it as 925 g, 1.2 kg or 2 lb 8 oz.")]
    TooLong,
    #[error("A weight cannot be less than zero.")]
    Negative,
    #[error("A weight here must be more than zero.")]
    Zero,
    #[error("No weight above 100,000 kg can be entered. Check the figure and its unit.")]
    TooHeavy,
    #[error("This cannot be read as a weight. Write it as 925 g, 1.2 kg, 2 lb 8 oz, 8 1/2 lb or 40 oz.")]
    NotUnderstood,
    /// The unit word is none that is known; at most 20 characters of it.
    #[error("\"{0}\" is not a unit of weight that can be used. Use g, kg, lb or oz.")]
    UnknownUnit(String),
    /// `1,200`: a decimal comma, or a thousand.
    #[error("This could mean {small} {unit} or {large} {unit}. Write {small_sure} or {large}.")]
    Ambiguous { small: String, small_sure: String, large: String, unit: WeightUnit },
    /// `2 lb 18 oz`, `2 kg 1200 g`.
    #[error(
        "After {0} the second figure must be less than one {0}. Write 2 lb 8 oz, or the whole weight in one unit."
    )]
    SecondTooLarge(WeightUnit),
}

/// Reads a weight. A bare number takes `bare`, the unit shown beside the field; after pounds, a bare second number is
/// ounces. Zero is a weight; see [`positive_weight`].
///
/// Any case, any spaces, digits of other scripts and fractions such as `½` are understood. What has more than two
/// decimals of a gram is rounded to 0.01 g.
pub fn parse_weight(text: &str, bare: WeightUnit) -> Result<Grams, WeightError> {
    typed(text, bare).map(Grams::new)
}

/// As [`positive_weight`], and keeps all that was typed: ounces as the exact decimals that they are.
pub fn exact_weight(text: &str, bare: WeightUnit) -> Result<ExactGrams, WeightError> {
    positive_weight(text, bare)?;
    typed(text, bare).map(ExactGrams::new)
}

fn typed(text: &str, bare: WeightUnit) -> Result<Decimal, WeightError> {
    let text = text.trim();
    if text.chars().count() > LONGEST {
        return Err(WeightError::TooLong);
    }
    let tidied = tidy(text);
    if tidied.is_empty() {
        return Err(WeightError::Empty);
    }
    let weight = match parts(&tidied)?.as_slice() {
        [only] => single(only, bare)?,
        [first, second] => compound(first, second)?,
        _ => return Err(WeightError::NotUnderstood),
    };
    if weight > HEAVIEST { Err(WeightError::TooHeavy) } else { Ok(weight) }
}

/// As [`parse_weight`], and refuses zero, also what rounds to it.
pub fn positive_weight(text: &str, bare: WeightUnit) -> Result<Grams, WeightError> {
    parse_weight(text, bare)
        .and_then(|weight| if weight.is_zero() { Err(WeightError::Zero) } else { Ok(weight) })
}

/// A number as typed, and the unit after it.
struct Part<'a> {
    number: &'a str,
    unit: Option<WeightUnit>,
}

/// Cuts `2 lb 8 oz` into its numbers and units. A point after a unit (`lb.`) belongs to the unit.
fn parts(text: &str) -> Result<Vec<Part<'_>>, WeightError> {
    let mut parts = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let at = rest.find(char::is_alphabetic).unwrap_or(rest.len());
        let (number, after) = rest.split_at(at);
        let end = after.find(|c: char| !c.is_alphabetic()).unwrap_or(after.len());
        let (word, after) = after.split_at(end);
        let unit = if word.is_empty() { None } else { Some(unit(word)?) };
        parts.push(Part { number: number.trim(), unit });
        rest = match after.strip_prefix('.') {
            Some(next) if !next.starts_with(|c: char| c.is_ascii_digit()) => next.trim_start(),
            _ => after.trim_start(),
        };
    }
    Ok(parts)
}

fn unit(word: &str) -> Result<WeightUnit, WeightError> {
    WeightUnit::of_word(word).ok_or_else(|| WeightError::UnknownUnit(word.chars().take(20).collect()))
}

fn single(part: &Part<'_>, bare: WeightUnit) -> Result<Decimal, WeightError> {
    let unit = part.unit.unwrap_or(bare);
    let amount = read(part.number, unit)?;
    amount.times(unit.grams()).ok_or(WeightError::TooHeavy)
}

/// Pounds and ounces, or kilograms and grams: whole ones of the first, less than one of it in the second.
fn compound(first: &Part<'_>, second: &Part<'_>) -> Result<Decimal, WeightError> {
    let (large, small) = match (first.unit, second.unit) {
        (Some(WeightUnit::Pound), None | Some(WeightUnit::Ounce)) => (WeightUnit::Pound, WeightUnit::Ounce),
        (Some(WeightUnit::Kilogram), Some(WeightUnit::Gram)) => (WeightUnit::Kilogram, WeightUnit::Gram),
        _ => return Err(WeightError::NotUnderstood),
    };
    let whole = read(first.number, large)?;
    // `2 lb 1/2` may be two pounds and a half as well as half an ounce.
    let half_of_which =
        second.unit.is_none() && second.number.contains('/') && !second.number.contains([' ', '-']);
    if !whole.is_whole() || half_of_which {
        return Err(WeightError::NotUnderstood);
    }
    let whole = whole.times(large.grams()).ok_or(WeightError::TooHeavy)?;
    let rest = read(second.number, small)?.times(small.grams()).ok_or(WeightError::TooHeavy)?;
    if rest >= large.grams() {
        return Err(WeightError::SecondTooLarge(large));
    }
    Ok(whole + rest)
}

fn read(number: &str, unit: WeightUnit) -> Result<Amount, WeightError> {
    let marks = if unit == WeightUnit::Gram { Marks::Grams } else { Marks::Careful };
    amount(number, marks).map_err(|unread| match unread {
        Unread::Unclear => WeightError::NotUnderstood,
        Unread::Negative => WeightError::Negative,
        Unread::TooLarge => WeightError::TooHeavy,
        Unread::Ambiguous { small, large } => {
            WeightError::Ambiguous { small_sure: surely(&small, unit), small, large, unit }
        }
    })
}

/// How to write the small reading so that it cannot be taken for the large one.
fn surely(small: &str, unit: WeightUnit) -> String {
    let lone_three = small.split_once('.').is_some_and(|(_, part)| part.len() == 3);
    match (unit, lone_three) {
        (WeightUnit::Gram, true) => format!("{small}0"),
        _ => small.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read_in(text: &str, bare: WeightUnit) -> Result<String, WeightError> {
        parse_weight(text, bare).map(|weight| weight.to_string())
    }

    #[test]
    fn every_way_of_saying_a_weight_is_understood() {
        use WeightUnit::{Gram, Kilogram, Ounce, Pound};
        for (typed, bare, grams) in [
            ("925", Gram, "925.00"),
            ("925 g", Kilogram, "925.00"),
            ("0.925 kg", Gram, "925.00"),
            ("0,925 kg", Gram, "925.00"),
            ("1,2 kg", Gram, "1200.00"),
            ("2 lb 8 oz", Gram, "1133.98"),
            ("2 lb 8", Gram, "1133.98"),
            ("2lb8", Gram, "1133.98"),
            ("2 lbs. 8 oz.", Gram, "1133.98"),
            ("2.5lb", Gram, "1133.98"),
            ("8 1/2 lb", Gram, "3855.54"),
            ("8½ lb", Gram, "3855.54"),
            ("8 ½", Pound, "3855.54"),
            ("½ lb", Gram, "226.80"),
            ("1/3 lb", Gram, "151.20"),
            ("2 lb 8 1/2 oz", Gram, "1148.16"),
            ("2 lb 8 1/2", Gram, "1148.16"),
            ("40oz", Gram, "1133.98"),
            ("40", Ounce, "1133.98"),
            ("92.4", Kilogram, "92400.00"),
            ("92,4 KG", Gram, "92400.00"),
            ("92.4 Kilos", Gram, "92400.00"),
            ("1 kilo", Gram, "1000.00"),
            ("2 kg 300 g", Pound, "2300.00"),
            ("12 gr", Kilogram, "12.00"),
            ("3 pounds", Gram, "1360.78"),
            ("1 OUNCE", Gram, "28.35"),
            ("1.742 kg", Gram, "1742.00"),
            ("1,234.5 g", Kilogram, "1234.50"),
            ("1.234,5 g", Kilogram, "1234.50"),
            ("1\u{202F}234 g", Kilogram, "1234.00"),
            ("1 234,5 g", Kilogram, "1234.50"),
            ("1,234,567 g", Kilogram, "1234567.00"),
            ("٩٢٫٤ kg", Gram, "92400.00"),
            ("９２５ｇ", Kilogram, "925.00"),
            (".5 kg", Gram, "500.00"),
            ("0", Gram, "0.00"),
            ("12,345.60 kg", Gram, "12345600.00"),
            ("100000 kg", Gram, "100000000.00"),
        ] {
            assert_eq!(read_in(typed, bare).as_deref(), Ok(grams), "{typed}");
        }
    }

    #[test]
    fn a_comma_that_could_be_a_thousand_is_sent_back_with_both_ways_to_write_it() {
        let error = parse_weight("1,200 g", WeightUnit::Kilogram).unwrap_err();
        assert_eq!(error.to_string(), "This could mean 1.2 g or 1200 g. Write 1.2 or 1200.");
        for (typed, bare) in
            [("1,200", WeightUnit::Gram), ("1,742 kg", WeightUnit::Gram), ("1.200 g", WeightUnit::Gram)]
        {
            assert!(matches!(parse_weight(typed, bare), Err(WeightError::Ambiguous { .. })), "{typed}");
        }
    }

    #[test]
    fn what_the_refusal_tells_to_write_is_understood() {
        for (typed, bare) in [
            ("1,200", WeightUnit::Gram),
            ("1.234", WeightUnit::Gram),
            ("12,345", WeightUnit::Kilogram),
            ("1,234", WeightUnit::Pound),
        ] {
            let Err(WeightError::Ambiguous { small_sure, large, .. }) = parse_weight(typed, bare) else {
                panic!("{typed} is ambiguous")
            };
            assert!(parse_weight(&small_sure, bare).is_ok(), "{small_sure}");
            assert!(parse_weight(&large, bare).is_ok(), "{large}");
        }
    }

    #[test]
    fn what_is_no_weight_is_refused_with_its_reason() {
        use WeightError::{Empty, Negative, NotUnderstood, SecondTooLarge, TooHeavy, TooLong, UnknownUnit};
        let unknown = |word: &str| UnknownUnit(word.into());
        for (typed, error) in [
            ("", Empty),
            (" \u{00A0} ", Empty),
            ("-5 kg", Negative),
            ("\u{2212} 5", Negative),
            ("5 stone", unknown("stone")),
            ("heavy", unknown("heavy")),
            ("5 kgg", unknown("kgg")),
            ("5 # ", NotUnderstood),
            ("kg", NotUnderstood),
            ("5-10 kg", NotUnderstood),
            ("5. kg", NotUnderstood),
            ("1e5", unknown("e")),
            ("2 lb 8 oz 3 g", NotUnderstood),
            ("2 lb 1/2", NotUnderstood),
            ("2.5 lb 3 oz", NotUnderstood),
            ("2 oz 3 lb", NotUnderstood),
            ("2 kg 300", NotUnderstood),
            ("2 kg 3 lb", NotUnderstood),
            ("2 lb 16 oz", SecondTooLarge(WeightUnit::Pound)),
            ("2 kg 1200 g", SecondTooLarge(WeightUnit::Kilogram)),
            ("100001 kg", TooHeavy),
            ("99999999999999999999 g", TooHeavy),
            ("9 lb 99999999999999999999", TooHeavy),
            ("<b>5</b>", NotUnderstood),
            ("2 lb\u{0} 8", NotUnderstood),
            ("00000000000000000000000000000000000000001", TooLong),
        ] {
            let found = parse_weight(typed, WeightUnit::Kilogram).unwrap_err();
            if matches!(error, NotUnderstood) {
                assert!(matches!(found, NotUnderstood | UnknownUnit(_)), "{typed}: {found:?}");
            } else {
                assert_eq!(found, error, "{typed}");
            }
        }
    }

    #[test]
    fn zero_is_a_weight_but_not_a_positive_one() {
        assert_eq!(parse_weight("0 kg", WeightUnit::Gram), Ok(Grams::ZERO));
        assert_eq!(positive_weight("0 kg", WeightUnit::Gram), Err(WeightError::Zero));
        assert_eq!(positive_weight("0.004 g", WeightUnit::Gram), Err(WeightError::Zero));
        assert!(positive_weight("0.01 g", WeightUnit::Gram).is_ok());
    }

    #[test]
    fn ounces_are_the_exact_decimals_that_they_are() {
        // NIST SP 811: 1 lb is 453.59237 g.
        let read = |text: &str| exact_weight(text, WeightUnit::Gram).unwrap().to_string();
        assert_eq!(read("4 oz"), "113.3980925");
        assert_eq!(read("1/4 oz"), "7.08738078125");
        assert_eq!(read("100 lb"), "45359.237");
        assert_eq!(read("12.5010 g"), "12.501");
        assert_eq!(exact_weight("0.004 g", WeightUnit::Gram), Err(WeightError::Zero));
    }

    fn apart(a: Grams, b: Grams) -> Decimal {
        (a - b).abs().decimal()
    }

    proptest! {
        #[test]
        fn a_printed_metric_weight_reads_back_to_its_last_digit(hundredths in 0_i64..5_000_000_000) {
            let weight = Grams::new(Decimal::new(hundredths, 2));
            let read = parse_weight(&weight.metric(), WeightUnit::Pound).unwrap();
            let half_a_step = if hundredths < 100_000 { "0" } else if hundredths < 1_000_000 { "0.5" } else { "5" };
            prop_assert!(apart(read, weight) <= half_a_step.parse().unwrap(), "{} {}", weight.metric(), read);
        }

        #[test]
        fn a_printed_us_weight_reads_back_to_its_last_digit(hundredths in 0_i64..5_000_000_000) {
            let weight = Grams::new(Decimal::new(hundredths, 2));
            let read = parse_weight(&weight.imperial(), WeightUnit::Gram).unwrap();
            // Half of one ounce, a tenth and a thousandth of it, and the rounding to 0.01 g.
            let half_a_step = if hundredths < 2_834 { "0.025" } else if hundredths < 453_100 { "1.43" } else { "14.19" };
            prop_assert!(apart(read, weight) <= half_a_step.parse().unwrap(), "{} {}", weight.imperial(), read);
        }

        #[test]
        fn whole_ounces_go_to_grams_and_back(pounds in 10_u32..2_000, ounces in 0_u32..16) {
            let said = format!("{pounds} lb {ounces} oz");
            prop_assert_eq!(parse_weight(&said, WeightUnit::Gram).unwrap().imperial(), said);
        }

        #[test]
        fn anything_may_be_typed(text in ".{0,45}") {
            let _ = parse_weight(&text, WeightUnit::Gram);
        }

        #[test]
        fn anything_near_a_weight_may_be_typed(text in "[0-9.,/ kglboz½-]{0,20}") {
            if let Ok(weight) = parse_weight(&text, WeightUnit::Pound) {
                prop_assert!(weight >= Grams::ZERO);
            }
        }
    }
}
