//! A recipe's proportions as weights: to so much meat, back from so much of one ingredient, and what a scale that
//! reads in steps makes of them. Source: arithmetic; the division is that of the shop's scale.

use rust_decimal::{Decimal, RoundingStrategy};

use super::figure::{self, BadFigure};
use super::formula::{Formula, Line};
use crate::measure::{Grams, Percent};

/// The step in which a scale reads, grams, above zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Division(Grams);

impl Division {
    /// Error: a step of zero or less.
    pub fn new(step: Grams) -> Result<Self, BadFigure> {
        figure::base(step, "scale's division")?;
        Ok(Self(step))
    }

    /// The nearest weight, in grams, that the scale can read; halfway goes up.
    pub fn nearest(self, weight: Decimal) -> Grams {
        self.stepped(weight, RoundingStrategy::MidpointAwayFromZero)
    }

    /// The next weight below, in grams, that the scale can read: of what is in stock, not more than there is.
    pub fn below(self, stock: Grams) -> Grams {
        self.stepped(stock.decimal(), RoundingStrategy::ToNegativeInfinity)
    }

    fn stepped(self, weight: Decimal, strategy: RoundingStrategy) -> Grams {
        let step = self.0.decimal();
        Grams::new((weight / step).round_dp_with_strategy(0, strategy) * step)
    }
}

/// What each line weighs for so much meat, both in grams, unrounded, in the order of the lines.
/// Error: meat of zero or less.
pub fn to_meat(formula: &Formula, meat: Decimal) -> Result<Vec<Decimal>, BadFigure> {
    let meat = figure::above_zero(meat, "meat block")?;
    Ok(formula.parts().iter().map(|part| *part * meat / Decimal::ONE_HUNDRED).collect())
}

/// How much meat the stock of one line is enough for, grams, unrounded. `line` counts from 0.
/// Error: a stock of zero or less, a line that is not in the recipe or is 0 % of it.
pub fn meat_for(formula: &Formula, line: usize, in_stock: Grams) -> Result<Decimal, BadFigure> {
    let stock = figure::base(in_stock, "stock")?;
    let part = formula.parts().get(line).copied().unwrap_or_default();
    Ok(stock * Decimal::ONE_HUNDRED / figure::above_zero(part, "line to scale from")?)
}

/// One line as a scale can weigh it, with what that did to the proportion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WeighOut {
    /// What the recipe asks for, to 0.01 g.
    pub target: Grams,
    /// The nearest to it that the scale reads.
    pub weigh: Grams,
    /// In what the recipe states the line in: of the meat block, of the whole or of the brine.
    pub target_percent: Percent,
    /// The same, of the weights as the scales read them.
    pub actual_percent: Percent,
    /// Actual less target.
    pub difference: Percent,
}

/// Every line for so much meat, each on the scale that `on` gives it: as a rule a fine one for cure and spice and a
/// coarse one for meat. Error: meat of zero or less, or so little that the scale reads nothing of what a line is a
/// share of.
pub fn weigh_out(
    formula: &Formula,
    meat: Decimal,
    on: impl Fn(usize, &Line) -> Division,
) -> Result<Vec<WeighOut>, BadFigure> {
    let targets = to_meat(formula, meat)?;
    let lines = formula.lines().iter().zip(&targets).enumerate();
    let weighed: Vec<Decimal> =
        lines.map(|(number, (line, target))| on(number, line).nearest(*target).decimal()).collect();
    let lines = formula.lines().iter().zip(targets).zip(&weighed);
    lines
        .map(|((line, target), weigh)| weighed_line(line, target, *weigh, formula.sum(&weighed, line.of)))
        .collect()
}

fn weighed_line(line: &Line, target: Decimal, weigh: Decimal, whole: Decimal) -> Result<WeighOut, BadFigure> {
    let whole = figure::above_zero(whole, "weight that the line is a share of")?;
    let actual = weigh * Decimal::ONE_HUNDRED / whole;
    Ok(WeighOut {
        target: Grams::new(target),
        weigh: Grams::new(weigh),
        target_percent: line.percent,
        actual_percent: Percent::new(actual),
        difference: Percent::new(actual - line.percent.decimal()),
    })
}

#[cfg(test)]
mod tests;
