use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::{Grams, Percent};

/// What a weight lost or gained, in grams and as per cent of what it was. A gain is never hidden: it has its own
/// word, and as a loss it is below zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    loss: Decimal,
    percent: Decimal,
}

impl Change {
    /// `what` names the earlier weight in a refusal. Before: above zero; after: zero or more.
    pub(super) fn between(before: Grams, after: Grams, what: &'static str) -> Result<Self, BadFigure> {
        let before = figure::base(before, what)?;
        let loss = before - figure::weight(after, "weight")?;
        Ok(Self { loss, percent: loss * Decimal::ONE_HUNDRED / before })
    }

    /// The word beside the figure.
    pub fn words(self) -> &'static str {
        if self.is_gain() {
            "gain"
        } else if self.loss.is_zero() {
            "unchanged"
        } else {
            "loss"
        }
    }

    pub fn is_gain(self) -> bool {
        self.loss < Decimal::ZERO
    }

    /// How many grams were lost or gained, without a sign: [`Self::words`] says which.
    pub fn grams(self) -> Grams {
        Grams::new(self.loss.abs())
    }

    /// How many per cent were lost or gained, without a sign: [`Self::words`] says which.
    pub fn percent(self) -> Percent {
        Percent::new(self.percent.abs())
    }

    /// Grams lost, a gain below zero.
    pub fn loss(self) -> Grams {
        Grams::new(self.loss)
    }

    /// Per cent lost, a gain below zero: for a curve, or to hold against a target or a tolerance.
    pub fn loss_percent(self) -> Percent {
        Percent::new(self.percent)
    }
}
