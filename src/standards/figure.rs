use rust_decimal::Decimal;

use crate::measure::{Grams, Percent};

/// Parts in a million.
pub const MILLION: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);

/// A figure that no published formula can be worked with. A person can mend it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadFigure {
    /// A share of nothing, or of less than nothing, means nothing.
    #[error("The {what} must be more than nothing.")]
    NoBase { what: &'static str },
    #[error("The {what} cannot be less than nothing.")]
    Negative { what: &'static str },
    #[error("The {what} cannot be more than 100 %.")]
    OverHundred { what: &'static str },
    #[error("The {part} weighs more than the {whole} that it is part of.")]
    PartOverWhole { part: &'static str, whole: &'static str },
}

/// What something is reckoned on. Error: zero or negative.
pub(super) fn above_zero(value: Decimal, what: &'static str) -> Result<Decimal, BadFigure> {
    if value > Decimal::ZERO { Ok(value) } else { Err(BadFigure::NoBase { what }) }
}

/// What may be nothing. Error: negative.
pub(super) fn not_negative(value: Decimal, what: &'static str) -> Result<Decimal, BadFigure> {
    if value < Decimal::ZERO { Err(BadFigure::Negative { what }) } else { Ok(value) }
}

/// [`above_zero`] for a weight.
pub(super) fn base(weight: Grams, what: &'static str) -> Result<Decimal, BadFigure> {
    above_zero(weight.decimal(), what)
}

/// [`not_negative`] for a weight.
pub(super) fn weight(weight: Grams, what: &'static str) -> Result<Decimal, BadFigure> {
    not_negative(weight.decimal(), what)
}

/// A share of something, as a fraction from 0 to 1. Error: outside.
pub(super) fn share(percent: Percent, what: &'static str) -> Result<Decimal, BadFigure> {
    if not_negative(percent.decimal(), what)? > Decimal::ONE_HUNDRED {
        return Err(BadFigure::OverHundred { what });
    }
    Ok(percent.fraction())
}

/// How often one weight goes into another, whole times. Weights are kept to 0.01 g, so that 8 × 5 oz come to a hair more than
/// 2.5 lb: what is lacking by no more than that rounding (half of 0.01 g of the whole, and of `one` by its `share`) is not lacking.
pub(super) fn whole_times(whole: Decimal, one: Decimal, share: Decimal) -> Decimal {
    let half = Decimal::from_parts(5, 0, 0, false, 3);
    let nearest = (whole / one).round();
    let lacks = nearest * one - whole;
    let hair = half * (Decimal::ONE + nearest * share);
    if lacks <= hair && hair < one { nearest } else { (whole / one).floor() }.normalize()
}

/// Shorthand of the tests: a decimal as it is written in the source it is checked against.
#[cfg(test)]
pub(super) fn dec(text: &str) -> Decimal {
    text.parse().expect("a decimal written in a test")
}

/// Shorthand of the tests: a figure as a publication prints it, so many places, half away from zero.
#[cfg(test)]
pub(super) fn printed(figure: Decimal, places: u32) -> String {
    let rounded = figure.round_dp_with_strategy(places, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    format!("{rounded:.*}", places as usize)
}
