//! A recipe as proportions. Each line is stated as per cent of the meat block (which is 100), of the whole batch
//! or of the brine; whatever it was stated in, it can be read in all three. Source: common practice of the trade.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::Percent;

/// What a line is a per cent of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Of {
    /// Meat and fat alone, together 100 %.
    MeatBlock,
    /// Everything that goes in, meat included.
    Whole,
    /// The brine: its water and all that is dissolved in it.
    Brine,
}

impl Of {
    /// Written after the figure: "2.75 % of the meat block".
    pub const fn words(self) -> &'static str {
        match self {
            Self::MeatBlock => "of the meat block",
            Self::Whole => "of the whole",
            Self::Brine => "of the brine",
        }
    }
}

/// Where a line goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    /// Meat or fat: it is of the meat block.
    Meat,
    /// Water, salt, cure or sugar that the brine is made of.
    Brine,
    /// Straight onto or into the meat.
    Dry,
}

/// One line of a recipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    pub percent: Percent,
    pub of: Of,
    pub part: Part,
}

/// Lines that do not make a recipe. `line` counts from 0.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadFormula {
    #[error("A recipe needs meat.")]
    NoMeat,
    #[error("A line cannot be less than nothing.")]
    Negative { line: usize },
    #[error("Only what is in the brine can be per cent of the brine.")]
    NotInBrine { line: usize },
    #[error("Where the meat is per cent of the whole, every line is.")]
    MeatOfWhole { line: usize },
    #[error("The brine is stated two ways: give all of its lines as per cent of the brine, or none.")]
    BrineTwoWays { line: usize },
    #[error("The meat comes to {sum} % of the meat block; it must come to 100 %.")]
    MeatNotHundred { sum: Decimal },
    #[error("The lines come to {sum} % of the whole; they must come to 100 %.")]
    WholeNotHundred { sum: Decimal },
    #[error("The lines come to {sum} % of the whole and leave no room for meat.")]
    NoRoomForMeat { sum: Decimal },
    #[error("The brine comes to {sum} %; it must come to 100 %.")]
    BrineNotHundred { sum: Decimal },
    #[error("Say how much brine there is for the meat.")]
    NoBrineShare,
}

/// A recipe's proportions, checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Formula {
    lines: Vec<Line>,
    /// Each line in parts to a hundred parts of the meat block, unrounded.
    parts: Vec<Decimal>,
}

impl Formula {
    /// Lines in the recipe's order, and how much brine there is in per cent of the meat block where lines are
    /// stated of the brine. Each line 0 % or more; the meat 100 % of the meat block, or everything 100 % of the
    /// whole; the brine's lines 100 % of the brine. Error: lines that are not so, by [`BadFormula`].
    pub fn new(lines: Vec<Line>, brine: Option<Percent>) -> Result<Self, BadFormula> {
        each_line_stands(&lines)?;
        let meat_of_whole = lines.iter().any(|line| line.part == Part::Meat && line.of == Of::Whole);
        let parts = if meat_of_whole { parts_of_whole(&lines)? } else { parts_of_meat(&lines, brine)? };
        Ok(Self { lines, parts })
    }

    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// Parts to a hundred parts of the meat block, unrounded, in the order of the lines. With them as weights
    /// and 100 as the meat block, [`super::curing`] tells a recipe's ppm before anything is weighed.
    pub fn parts(&self) -> &[Decimal] {
        &self.parts
    }

    /// Every line as per cent of one thing, in the order of the lines. A line outside the brine has no share of it,
    /// and no line has a share of a brine that is nothing.
    pub fn percents(&self, of: Of) -> Vec<Option<Percent>> {
        let whole = self.sum(&self.parts, of);
        let shares = self.lines.iter().zip(&self.parts).map(|(line, part)| {
            let counted = of != Of::Brine || (line.part == Part::Brine && !whole.is_zero());
            counted.then(|| Percent::new(*part * Decimal::ONE_HUNDRED / whole))
        });
        shares.collect()
    }

    /// The weight that a per cent "of" something is reckoned on, when the lines weigh `weights`.
    pub(super) fn sum(&self, weights: &[Decimal], of: Of) -> Decimal {
        let counts = |line: &Line| match of {
            Of::MeatBlock => line.part == Part::Meat,
            Of::Whole => true,
            Of::Brine => line.part == Part::Brine,
        };
        self.lines.iter().zip(weights).filter(|(line, _)| counts(line)).map(|(_, weight)| *weight).sum()
    }
}

fn each_line_stands(lines: &[Line]) -> Result<(), BadFormula> {
    for (number, line) in lines.iter().enumerate() {
        if line.percent.decimal() < Decimal::ZERO {
            return Err(BadFormula::Negative { line: number });
        }
        if line.of == Of::Brine && line.part != Part::Brine {
            return Err(BadFormula::NotInBrine { line: number });
        }
    }
    if total(lines, |line| line.part == Part::Meat).is_zero() {
        return Err(BadFormula::NoMeat);
    }
    Ok(())
}

/// The meat's own share of the whole says how many parts of the whole go to a hundred of meat.
fn parts_of_whole(lines: &[Line]) -> Result<Vec<Decimal>, BadFormula> {
    if let Some(line) = lines.iter().position(|line| line.of != Of::Whole) {
        return Err(BadFormula::MeatOfWhole { line });
    }
    let sum = total(lines, |_| true);
    if sum != Decimal::ONE_HUNDRED {
        return Err(BadFormula::WholeNotHundred { sum });
    }
    let meat = total(lines, |line| line.part == Part::Meat);
    Ok(lines.iter().map(|line| line.percent.decimal() * Decimal::ONE_HUNDRED / meat).collect())
}

fn parts_of_meat(lines: &[Line], brine: Option<Percent>) -> Result<Vec<Decimal>, BadFormula> {
    let meat = total(lines, |line| line.part == Part::Meat);
    if meat != Decimal::ONE_HUNDRED {
        return Err(BadFormula::MeatNotHundred { sum: meat });
    }
    let brine = brine_on_meat(lines, brine)?;
    let of_whole = total(lines, |line| line.of == Of::Whole);
    if of_whole >= Decimal::ONE_HUNDRED {
        return Err(BadFormula::NoRoomForMeat { sum: of_whole });
    }
    // The rest is what the lines of the whole leave of it.
    let rest = total(lines, |line| line.of == Of::MeatBlock) + brine;
    let part = |line: &Line| match line.of {
        Of::MeatBlock => line.percent.decimal(),
        Of::Brine => line.percent.decimal() * brine / Decimal::ONE_HUNDRED,
        Of::Whole => line.percent.decimal() * rest / (Decimal::ONE_HUNDRED - of_whole),
    };
    Ok(lines.iter().map(part).collect())
}

/// Parts of brine to a hundred parts of meat, as far as lines are stated of the brine.
fn brine_on_meat(lines: &[Line], brine: Option<Percent>) -> Result<Decimal, BadFormula> {
    if !lines.iter().any(|line| line.of == Of::Brine) {
        return Ok(Decimal::ZERO);
    }
    if let Some(line) = lines.iter().position(|line| line.part == Part::Brine && line.of != Of::Brine) {
        return Err(BadFormula::BrineTwoWays { line });
    }
    let sum = total(lines, |line| line.of == Of::Brine);
    if sum != Decimal::ONE_HUNDRED {
        return Err(BadFormula::BrineNotHundred { sum });
    }
    let brine = brine.map_or(Decimal::ZERO, Percent::decimal);
    if brine > Decimal::ZERO { Ok(brine) } else { Err(BadFormula::NoBrineShare) }
}

fn total(lines: &[Line], counts: impl Fn(&Line) -> bool) -> Decimal {
    lines.iter().filter(|line| counts(line)).map(|line| line.percent.decimal()).sum()
}

/// A cure or a ready mix, and how much of it is salt (or sugar, when sugar is what is counted).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mix {
    /// Of the meat block, or of whatever the target is per cent of.
    pub percent: Percent,
    /// Of the mix's own weight, 0 to 100 %.
    pub holds: Percent,
}

/// What the mixes leave to be weighed as plain salt (or sugar) of a target, in per cent of the same thing.
/// Target and mixes 0 % or more. Error: outside that, or mixes that bring more than the target by themselves.
/// Source: plain = target − mix × its share, common practice.
pub fn plain(target: Percent, mixes: &[Mix]) -> Result<Percent, BadFigure> {
    let target = figure::not_negative(target.decimal(), "target")?;
    let mut left = target;
    for mix in mixes {
        left -= figure::not_negative(mix.percent.decimal(), "mix")?
            * figure::share(mix.holds, "share in the mix")?;
    }
    if left < Decimal::ZERO {
        return Err(BadFigure::PartOverWhole { part: "share in the mixes", whole: "target" });
    }
    Ok(Percent::new(left))
}

#[cfg(test)]
mod tests;
