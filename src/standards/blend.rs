//! Lean and fat blended to a target. The shares of the bins are all lean or all fat; the answer is the same.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::{Grams, Percent};

/// The most bins that are blended at once. Every face of their bounds is looked at, three to the power of their number.
pub const MOST: usize = 8;

/// How near to nothing a sum of unrounded weights must come to count as nothing, grams: far under what any scale reads.
const NOTHING: Decimal = Decimal::from_parts(1, 0, 0, false, 9);

/// What kind of figure a bin's lean is. The two are not the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Lean {
    /// 100 less the fat that an analysis found.
    Chemical,
    /// What the eye takes for lean.
    Visual,
}

impl Lean {
    pub const ALL: [Self; 2] = [Self::Chemical, Self::Visual];

    pub const fn words(self) -> &'static str {
        match self {
            Self::Chemical => "chemical lean",
            Self::Visual => "visual lean",
        }
    }
}

/// What is in a bin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bin {
    pub on_hand: Grams,
    pub lean: Percent,
}

/// Why there is no blend.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadBlend {
    #[error(transparent)]
    Figure(#[from] BadFigure),
    #[error("Give two bins at least.")]
    TooFew,
    #[error("Give eight bins at most.")]
    TooMany,
    #[error("The bins hold less than that together.")]
    NotEnough { on_hand: Grams },
    /// The leanest and the fattest that the bins make of the weight that is wanted, per cent, unrounded.
    #[error("The bins cannot make that.")]
    Outside { least: Decimal, most: Decimal },
}

/// The share of A, and of B, in a blend of two that comes to `target`: (b − t) ÷ (b − a), fractions, unrounded. Each 0 to 100 %.
/// Error: outside that; a target that does not lie between the two. Source: arithmetic (the alligation of the trade).
pub fn two(a: Percent, b: Percent, target: Percent) -> Result<(Decimal, Decimal), BadBlend> {
    let (a, b) = (figure::share(a, "lean of A")?, figure::share(b, "lean of B")?);
    let target = figure::share(target, "target")?;
    let (least, most) = (a.min(b), a.max(b));
    if target < least || target > most {
        let percent = |fraction| fraction * Decimal::ONE_HUNDRED;
        return Err(BadBlend::Outside { least: percent(least), most: percent(most) });
    }
    if a == b {
        let half = Decimal::ONE / Decimal::TWO;
        return Ok((half, half));
    }
    let share = (b - target) / (b - a);
    Ok((share, Decimal::ONE - share))
}

/// What to weigh out of each bin, grams, unrounded, so that `total` comes to `target`: no bin gives more than it holds or less
/// than nothing, and the blend stays nearest to the shares on hand. The measure of near is the sum of the squares of what each
/// weight differs from the total shared out as the bins stand; of all blends that hit the target exactly one is nearest.
/// Total and every bin above zero, lean 0 to 100 %. Error: outside that, or what the bins cannot make.
/// Source: least squares under linear bounds, by looking at every face of them; exact decimals.
pub fn nearest(bins: &[Bin], total: Grams, target: Percent) -> Result<Vec<Decimal>, BadBlend> {
    let wanted = figure::base(total, "weight that is wanted")?;
    let target = figure::share(target, "target")?;
    let bins = read(bins)?;
    let on_hand: Decimal = bins.iter().map(|bin| bin.most).sum();
    if wanted > on_hand {
        return Err(BadBlend::NotEnough { on_hand: Grams::new(on_hand) });
    }
    let (least, most) = (extreme(&bins, wanted, false), extreme(&bins, wanted, true));
    if target < least || target > most {
        let percent = |fraction| fraction * Decimal::ONE_HUNDRED;
        return Err(BadBlend::Outside { least: percent(least), most: percent(most) });
    }
    let start: Vec<Decimal> = bins.iter().map(|bin| wanted * bin.most / on_hand).collect();
    let mut best: Option<(Decimal, Vec<Decimal>)> = None;
    for face in 0..3_usize.pow(u32::try_from(bins.len()).unwrap_or(0)) {
        let Some(weights) = on_face(&bins, &start, face, wanted, target) else { continue };
        let far: Decimal =
            weights.iter().zip(&start).map(|(weight, start)| (*weight - *start) * (*weight - *start)).sum();
        if best.as_ref().is_none_or(|(nearest, _)| far < *nearest) {
            best = Some((far, weights));
        }
    }
    best.map(|(_, weights)| weights).ok_or_else(|| BadBlend::Outside {
        least: least * Decimal::ONE_HUNDRED,
        most: most * Decimal::ONE_HUNDRED,
    })
}

/// A bin as plain decimals: what it can give at most, and its lean as a fraction.
struct Read {
    most: Decimal,
    lean: Decimal,
}

fn read(bins: &[Bin]) -> Result<Vec<Read>, BadBlend> {
    match bins.len() {
        0 | 1 => return Err(BadBlend::TooFew),
        2..=MOST => {}
        _ => return Err(BadBlend::TooMany),
    }
    let read = |bin: &Bin| -> Result<Read, BadFigure> {
        Ok(Read { most: figure::base(bin.on_hand, "bin")?, lean: figure::share(bin.lean, "lean of a bin")? })
    };
    Ok(bins.iter().map(read).collect::<Result<_, _>>()?)
}

/// The leanest, or the fattest, that the bins make of a weight: filled from one end.
fn extreme(bins: &[Read], wanted: Decimal, leanest: bool) -> Decimal {
    let mut order: Vec<&Read> = bins.iter().collect();
    order.sort_by_key(|one| one.lean);
    if leanest {
        order.reverse();
    }
    let (mut left, mut lean) = (wanted, Decimal::ZERO);
    for bin in order {
        let take = bin.most.min(left);
        lean += take * bin.lean;
        left -= take;
    }
    lean / wanted
}

/// The nearest point of one face: each bin empty, full or free by the digits of `face` to the base of three. Nothing where the
/// face does not hit weight and target, or leaves the bounds.
fn on_face(
    bins: &[Read],
    start: &[Decimal],
    face: usize,
    wanted: Decimal,
    target: Decimal,
) -> Option<Vec<Decimal>> {
    let mut digits = face;
    let mut weights = Vec::with_capacity(bins.len());
    let mut free = Vec::with_capacity(bins.len());
    for (at, bin) in bins.iter().enumerate() {
        match digits % 3 {
            0 => {
                free.push(at);
                weights.push(start[at]);
            }
            1 => weights.push(Decimal::ZERO),
            _ => weights.push(bin.most),
        }
        digits /= 3;
    }
    let (weight_off, lean_off) = off(bins, &weights, wanted, target);
    // The step of the free bins is λ + μ × (lean − middle): their sum makes up the weight, their lean the target.
    let count = Decimal::from(free.len());
    if !free.is_empty() {
        let middle = free.iter().map(|at| bins[*at].lean).sum::<Decimal>() / count;
        let spread: Decimal =
            free.iter().map(|at| (bins[*at].lean - middle) * (bins[*at].lean - middle)).sum();
        let all = weight_off / count;
        let each = if spread.is_zero() { Decimal::ZERO } else { (lean_off - weight_off * middle) / spread };
        for at in free {
            weights[at] += all + each * (bins[at].lean - middle);
        }
    }
    let (weight_off, lean_off) = off(bins, &weights, wanted, target);
    let hits = weight_off.abs() <= NOTHING && lean_off.abs() <= NOTHING;
    let within =
        bins.iter().zip(&weights).all(|(bin, weight)| *weight >= -NOTHING && *weight <= bin.most + NOTHING);
    let bounded =
        || bins.iter().zip(&weights).map(|(bin, weight)| (*weight).clamp(Decimal::ZERO, bin.most)).collect();
    (hits && within).then(bounded)
}

/// What the weights lack of the wanted weight, and of the lean that it is to have.
fn off(bins: &[Read], weights: &[Decimal], wanted: Decimal, target: Decimal) -> (Decimal, Decimal) {
    let weight: Decimal = weights.iter().sum();
    let lean: Decimal = bins.iter().zip(weights).map(|(bin, weight)| bin.lean * *weight).sum();
    (wanted - weight, wanted * target - lean)
}

/// The lean of weights out of bins, per cent, unrounded; nothing of nothing. Source: arithmetic.
pub fn lean_of(bins: &[Bin], weights: &[Decimal]) -> Option<Decimal> {
    let whole: Decimal = weights.iter().sum();
    let lean: Decimal = bins.iter().zip(weights).map(|(bin, weight)| bin.lean.decimal() * *weight).sum();
    (!whole.is_zero()).then(|| lean / whole)
}

#[cfg(test)]
mod tests;
