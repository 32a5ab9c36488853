//! Yields. A yield names the weight that it is a share of, and it is worked from weights, not from published
//! percentages: those are rounded to add up to 100.

use rust_decimal::Decimal;

use super::Change;
use super::figure::{self, BadFigure};
use crate::measure::{Grams, Percent, PricePerKg};

/// The weight that a yield is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    Live,
    HotCarcass,
    ChilledCarcass,
    SourceLot,
    GreenWeight,
}

impl Basis {
    /// Written after the figure: "88.12 % of the source lot".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Live => "of the live weight",
            Self::HotCarcass => "of the hot carcass",
            Self::ChilledCarcass => "of the chilled carcass",
            Self::SourceLot => "of the source lot",
            Self::GreenWeight => "of the green weight",
        }
    }
}

/// A yield with what it is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Yield {
    pub percent: Percent,
    pub basis: Basis,
}

/// What was got from a weight, in per cent of it. From: above zero; got: zero or more, and above 100 % where
/// something was added (a pumped ham). Error: outside that. Source: got ÷ from × 100, FSIS Directive 7620.3
/// (finished over green) and common practice.
pub fn yielded(got: Grams, from: Grams, basis: Basis) -> Result<Yield, BadFigure> {
    Ok(Yield { percent: share(got, from)?, basis })
}

/// Carcass weight in per cent of the live weight, a carcass being at most what the animal weighed.
/// Error: a live weight of zero or less, a negative carcass, a carcass heavier than the animal.
/// Source: carcass ÷ live × 100, common practice.
pub fn dressing(carcass: Grams, live: Grams) -> Result<Yield, BadFigure> {
    let percent = share(carcass, live)?;
    if carcass > live {
        return Err(BadFigure::PartOverWhole { part: "carcass", whole: "live animal" });
    }
    Ok(Yield { percent, basis: Basis::Live })
}

/// What the cuts leave of their source: the cutting loss, or a gain where they weigh more than it did.
/// Source weight above zero, cuts zero or more. Error: outside that. Source: arithmetic.
pub fn cutting_change(source: Grams, cuts: &[Grams]) -> Result<Change, BadFigure> {
    for cut in cuts {
        figure::weight(*cut, "cut")?;
    }
    Change::between(source, cuts.iter().sum(), "source")
}

/// Steps one after the other (trim, cure, slice) as one yield: they multiply. Each zero or more; none at all
/// is 100 %. Error: a negative step. Source: common practice.
pub fn one_after_the_other(steps: &[Percent]) -> Result<Percent, BadFigure> {
    let mut product = Decimal::ONE_HUNDRED;
    for step in steps {
        if step.decimal() < Decimal::ZERO {
            return Err(BadFigure::Negative { what: "yield of a step" });
        }
        product *= step.fraction();
    }
    Ok(Percent::new(product))
}

/// Per cent pump: what a piece took up, in per cent of its green weight. Green weight above zero, treated at
/// least as heavy. Error: outside that. Source: (treated − green) ÷ green × 100, FSIS Directive 7620.3.
pub fn percent_pump(green: Grams, treated: Grams) -> Result<Percent, BadFigure> {
    let base = figure::base(green, "green weight")?;
    if treated < green {
        return Err(BadFigure::PartOverWhole { part: "green meat", whole: "treated meat" });
    }
    Ok(Percent::new((treated.decimal() - base) * Decimal::ONE_HUNDRED / base))
}

/// A cutting test: so much bought, so much of it usable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CuttingTest {
    bought: Grams,
    usable: Grams,
}

impl CuttingTest {
    /// Both above zero, usable at most what was bought. Error: outside that.
    pub fn new(bought: Grams, usable: Grams) -> Result<Self, BadFigure> {
        figure::base(bought, "weight bought")?;
        figure::base(usable, "usable weight")?;
        if usable > bought {
            return Err(BadFigure::PartOverWhole { part: "usable meat", whole: "weight bought" });
        }
        Ok(Self { bought, usable })
    }

    /// Usable, in per cent of the weight bought.
    pub fn usable_yield(self) -> Yield {
        let percent = self.usable.decimal() * Decimal::ONE_HUNDRED / self.bought.decimal();
        Yield { percent: Percent::new(percent), basis: Basis::SourceLot }
    }

    /// Grams to buy for so many grams usable, zero or more. Error: negative.
    /// Source: usable ÷ yield, common practice.
    pub fn to_buy(self, usable: Grams) -> Result<Grams, BadFigure> {
        let needed = figure::weight(usable, "usable weight")?;
        Ok(Grams::new(needed * self.bought.decimal() / self.usable.decimal()))
    }

    /// What a kilogram of usable weight costs when a kilogram bought costs `price`. Any price; no error.
    /// Source: price ÷ yield, common practice.
    pub fn usable_price(self, price: PricePerKg) -> PricePerKg {
        PricePerKg::new(price.decimal() * self.bought.decimal() / self.usable.decimal())
    }
}

/// Grams usable for so many portions of a weight, zero or more. Error: negative. Source: arithmetic.
pub fn portions(count: u32, portion: Grams) -> Result<Grams, BadFigure> {
    Ok(Grams::new(Decimal::from(count) * figure::weight(portion, "portion")?))
}

fn share(got: Grams, from: Grams) -> Result<Percent, BadFigure> {
    let base = figure::base(from, "weight that it is a share of")?;
    Ok(Percent::new(figure::weight(got, "weight")? * Decimal::ONE_HUNDRED / base))
}

#[cfg(test)]
mod tests;
