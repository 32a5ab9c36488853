//! Ingoing nitrite and nitrate of what was really weighed, by the strength of the lots that it came from.

use rust_decimal::Decimal;

use super::standing::Standing;
use crate::measure::{Grams, Percent};
use crate::recipes::{IngoingBoth, Role, ingoing};
use crate::standards::curing::Strength;

/// A weighing as far as nitrite is concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WeighedCure {
    pub role: Role,
    pub weight: Grams,
    /// What the lot's pack stated; none where it stated nothing.
    pub strength: Option<Strength>,
}

/// What can be said of the batch's nitrite.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Actual {
    /// Nothing with nitrite or nitrate went in.
    NoCure,
    /// A cure went in whose lot states no strength.
    Unknown,
    Known(IngoingBoth),
}

/// Both figures, for the meat that was taken. What was left over and thrown away did not go in: `laid_on` is what went on
/// the pieces and what was left. Of a cure in excess, what is brushed off later is not taken away: the figure is the most
/// that it can be.
pub fn actual(batch: &Standing, weighed: &[WeighedCure], laid_on: Option<(Grams, Grams)>) -> Actual {
    let unknown = weighed.iter().any(|one| one.role == Role::Cure && one.strength.is_none());
    if unknown {
        return Actual::Unknown;
    }
    let part = laid_on.map_or(Decimal::ONE, |(on, left)| {
        let whole = (on + left).decimal();
        if whole.is_zero() { Decimal::ONE } else { on.decimal() / whole }
    });
    let cures: Vec<_> = weighed
        .iter()
        .filter_map(|one| Some((one.weight.decimal() * part, one.strength?)))
        .filter(|(_, strength)| strength.nitrite + strength.nitrate > Percent::ZERO)
        .collect();
    if cures.is_empty() {
        return Actual::NoCure;
    }
    let brine: Grams = batch.ingredients().map(|line| line.weighed).sum();
    match ingoing(batch.kind, &cures, batch.meat.decimal(), brine.decimal() * part) {
        Ok(both) => Actual::Known(both),
        Err(_) => Actual::Unknown,
    }
}
