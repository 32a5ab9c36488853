//! Curves through the losses of a piece, the choice between them, and how far past forecasts were off.
//!
//! Floats, since a curve is fitted: nothing that is decided rests on them. Days are counted from the green weight, losses
//! are shares of it. Both curves have one figure that enters linearly, so that least squares leaves one figure to search:
//! a coarse grid over its range, then a golden section within the best cell of it.
#![allow(clippy::float_arithmetic, clippy::cast_precision_loss, reason = "a curve is fitted")]

/// A weigh-in: days since it was green, and the share of the green weight that was lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    pub days: f64,
    pub loss: f64,
}

/// The weigh-ins of one piece, in the order of time, that of its green weight left out.
pub type Track = Vec<Point>;

/// Meat holds no more water than this that could dry away: about three quarters of lean (common practice).
const MOST_WATER: f64 = 0.8;
/// Rates per day between which the levelling curve is searched, and powers of the other.
const RATES: (f64, f64) = (0.001, 0.5);
const POWERS: (f64, f64) = (0.15, 1.2);
/// A curve of its own needs so many weigh-ins.
pub const OWN: usize = 3;
/// With fewer weigh-ins than this the earlier batches are looked at beside its own curves.
const YOUNG: usize = 6;
/// How many of the last weigh-ins are held out, one after the other, to choose a curve.
const HELD_OUT: usize = 3;
/// The weight of the earlier batches against one weigh-in of its own, when their curve is stretched to it.
const PULL: f64 = 0.5;
/// The longest that is looked ahead, in days from the green weight.
const FURTHEST: f64 = 1100.0;

/// A curve of loss over days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// L∞(1 − e^(−kt)): levels off at `most`.
    Levels { most: f64, rate: f64 },
    /// a·t^b
    Power { scale: f64, power: f64 },
}

impl Curve {
    pub fn at(&self, days: f64) -> f64 {
        match *self {
            Self::Levels { most, rate } => most * (1.0 - (-rate * days).exp()),
            Self::Power { scale, power } => scale * days.max(0.0).powf(power),
        }
    }

    /// The day on which it reaches a loss; `None` where it levels off before, or reaches it too far ahead to say.
    pub fn reaches(&self, loss: f64) -> Option<f64> {
        let days = match *self {
            Self::Levels { most, rate } if loss < most => -(1.0 - loss / most).ln() / rate,
            Self::Power { scale, power } if scale > 0.0 => (loss / scale).powf(1.0 / power),
            Self::Levels { .. } | Self::Power { .. } => return None,
        };
        (days.is_finite() && days <= FURTHEST).then_some(days)
    }

    fn stretched(self, by: f64) -> Self {
        match self {
            Self::Levels { most, rate } => Self::Levels { most: most * by, rate },
            Self::Power { scale, power } => Self::Power { scale: scale * by, power },
        }
    }
}

/// Where a curve comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum From {
    /// The piece's own weigh-ins.
    Own,
    /// The curve of earlier batches of the product, stretched to the piece's own weigh-ins.
    Earlier,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    pub curve: Curve,
    pub from: From,
}

/// The levelling curve of least squares.
pub fn levels(points: &[Point]) -> Option<Curve> {
    let with = |log_rate: f64| {
        let rate = log_rate.exp();
        let most = linear(points, |days| 1.0 - (-rate * days).exp()).clamp(0.0, MOST_WATER);
        Curve::Levels { most, rate }
    };
    best(points, with, RATES.0.ln(), RATES.1.ln())
}

/// The power of least squares.
pub fn power(points: &[Point]) -> Option<Curve> {
    let with = |power: f64| {
        let scale = linear(points, |days| days.max(0.0).powf(power)).max(0.0);
        Curve::Power { scale, power }
    };
    best(points, with, POWERS.0, POWERS.1)
}

/// The factor of least squares of a shape.
fn linear(points: &[Point], shape: impl Fn(f64) -> f64) -> f64 {
    let (mut above, mut below) = (0.0, 0.0);
    for point in points {
        let f = shape(point.days);
        above += f * point.loss;
        below += f * f;
    }
    if below > 0.0 { above / below } else { 0.0 }
}

fn squares(points: &[Point], curve: &Curve) -> f64 {
    points.iter().map(|point| (point.loss - curve.at(point.days)).powi(2)).sum()
}

/// The best of a family of curves: a grid of forty, then a golden section.
fn best(points: &[Point], with: impl Fn(f64) -> Curve, low: f64, high: f64) -> Option<Curve> {
    if points.len() < 2 {
        return None;
    }
    let off = |x: f64| squares(points, &with(x));
    let step = (high - low) / 40.0;
    let nearest = (0..=40).map(|n| low + step * f64::from(n)).min_by(|a, b| off(*a).total_cmp(&off(*b)))?;
    let (mut a, mut b) = ((nearest - step).max(low), (nearest + step).min(high));
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..24 {
        let (c, d) = (b - golden * (b - a), a + golden * (b - a));
        if off(c) < off(d) { b = d } else { a = c }
    }
    let curve = with(f64::midpoint(a, b));
    let flat = match curve {
        Curve::Levels { most, .. } => most <= 0.0,
        Curve::Power { scale, .. } => scale <= 0.0,
    };
    (!flat && squares(points, &curve).is_finite()).then_some(curve)
}

/// The curve of earlier batches: the better of the two through all their weigh-ins together.
pub fn pooled(earlier: &[Track]) -> Option<Curve> {
    let all: Vec<Point> = earlier.iter().flatten().copied().collect();
    if all.len() < 4 {
        return None;
    }
    let both = [levels(&all), power(&all)];
    both.into_iter().flatten().min_by(|a, b| squares(&all, a).total_cmp(&squares(&all, b)))
}

/// The curve of earlier batches, stretched to a piece's own weigh-ins as far as there are any.
fn stretched(points: &[Point], earlier: &Curve) -> Curve {
    let (mut above, mut below) = (0.0, 0.0);
    let last = points.last().map_or(1.0, |point| earlier.at(point.days));
    for point in points {
        let f = earlier.at(point.days);
        above += f * point.loss;
        below += f * f;
    }
    let pull = PULL * last * last;
    earlier.stretched((above + pull) / (below + pull))
}

/// The ways to fit a piece, in the order in which one is preferred where nothing tells them apart.
fn ways(points: &[Point], earlier: Option<&Curve>) -> Vec<(usize, Fitted)> {
    let own = |curve: Option<Curve>| curve.map(|curve| Fitted { curve, from: From::Own });
    let mut ways = Vec::with_capacity(3);
    if points.len() < YOUNG
        && let Some(earlier) = earlier
    {
        ways.push((0, Fitted { curve: stretched(points, earlier), from: From::Earlier }));
    }
    if points.len() >= OWN {
        ways.extend(own(levels(points)).map(|fitted| (1, fitted)));
        ways.extend(own(power(points)).map(|fitted| (2, fitted)));
    }
    ways
}

/// The better curve by the weigh-ins that were held out: each of the last few is foretold from those before it, and the
/// way that was off least is taken. Where too few are there to hold any out, the earlier batches are taken before its own.
pub fn choose(points: &[Point], earlier: Option<&Curve>) -> Option<Fitted> {
    let ways = ways(points, earlier);
    let mut off = [0.0; 3];
    let mut tried = [0_u32; 3];
    let first = points.len().saturating_sub(HELD_OUT).max(1);
    for n in first..points.len() {
        for (which, fitted) in held_out(&points[..n], earlier) {
            off[which] += (fitted.curve.at(points[n].days) - points[n].loss).powi(2);
            tried[which] += 1;
        }
    }
    // A way is only held against another that was tried as often.
    let most = ways.iter().map(|(which, _)| tried[*which]).max()?;
    ways.into_iter()
        .filter(|(which, _)| tried[*which] == most)
        .min_by(|(a, _), (b, _)| off[*a].total_cmp(&off[*b]))
        .map(|(_, fitted)| fitted)
}

/// The ways through the points that are not held out; two of them are enough here.
fn held_out(points: &[Point], earlier: Option<&Curve>) -> Vec<(usize, Fitted)> {
    let own = |curve: Option<Curve>| curve.map(|curve| Fitted { curve, from: From::Own });
    let mut ways = Vec::with_capacity(3);
    if let Some(earlier) = earlier {
        ways.push((0, Fitted { curve: stretched(points, earlier), from: From::Earlier }));
    }
    ways.extend(own(levels(points)).map(|fitted| (1, fitted)));
    ways.extend(own(power(points)).map(|fitted| (2, fitted)));
    ways
}

/// A forecast of the past: made from the first weigh-ins of a piece, for the loss that a later one then showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Past {
    /// From how many weigh-ins it was made.
    pub from: usize,
    /// The last day that it knew.
    pub known: f64,
    pub foretold: f64,
    pub came: f64,
}

impl Past {
    /// How much longer it took than foretold, as a factor of the days still to go.
    pub fn factor(&self) -> f64 {
        (self.came - self.known) / (self.foretold - self.known).max(0.5)
    }
}

/// Every forecast that could have been made of a piece at each of its weigh-ins but the last, for each loss that it came to
/// show later. Only those for which it had lost more by then are counted: what is reached is not foretold.
pub fn past(track: &[Point], earlier: Option<&Curve>) -> Vec<Past> {
    let mut found = Vec::new();
    for known in 1..track.len() {
        let Some(fitted) = choose(&track[..known], earlier) else { continue };
        let last = track[known - 1];
        for later in &track[known..] {
            if later.loss <= last.loss {
                continue;
            }
            if let Some(foretold) = fitted.curve.reaches(later.loss) {
                let foretold = foretold.max(last.days);
                found.push(Past { from: known, known: last.days, foretold, came: later.days });
            }
        }
    }
    found
}

/// How far past forecasts were off: the factors between which eight of ten of them lie, and the one in their middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    pub least: f64,
    /// Half of them took longer than this. Curves through few weigh-ins run out too early, or too late, and this sets it right.
    pub middle: f64,
    pub most: f64,
    /// From how many past forecasts; fewer than [`ENOUGH`] and it is the shop's first guess.
    pub forecasts: usize,
    /// Whether each of those was made from as many weigh-ins.
    pub alike: bool,
}

/// Past forecasts that are enough to say how far they are off.
pub const ENOUGH: usize = 10;
/// Until there are enough of them: from two thirds to one and a half times the days still to go. A first guess.
pub const FIRST_GUESS: Spread =
    Spread { least: 2.0 / 3.0, middle: 1.0, most: 1.5, forecasts: 0, alike: false };

/// The spread of the past forecasts that were made from as many weigh-ins, for what is foretold from few is off in another way
/// than what is foretold from many; of all past forecasts where those are too few.
pub fn spread(past: &[Past], weigh_ins: usize) -> Spread {
    let factors = |alike: bool| {
        let of_them = past.iter().filter(|one| !alike || one.from == weigh_ins);
        let mut factors: Vec<f64> = of_them.map(Past::factor).collect();
        factors.sort_by(f64::total_cmp);
        (factors.len() >= ENOUGH).then_some((factors, alike))
    };
    let Some((factors, alike)) = factors(true).or_else(|| factors(false)) else {
        return Spread { forecasts: past.len(), ..FIRST_GUESS };
    };
    Spread {
        least: quantile(&factors, 0.1).max(0.0),
        middle: quantile(&factors, 0.5).max(0.0),
        most: quantile(&factors, 0.9),
        forecasts: factors.len(),
        alike,
    }
}

/// The factor that a forecast of one more comes below with this chance: of n factors in their order the p(n + 1)-th, which may lie
/// between two of them (conformal prediction).
fn quantile(factors: &[f64], share: f64) -> f64 {
    let place = (share * (factors.len() + 1) as f64).clamp(1.0, factors.len() as f64);
    let below = place.floor();
    // At most the number of factors, and never below one.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in the list")]
    let n = below as usize;
    let next = factors[n.min(factors.len() - 1)];
    factors[n - 1] + (next - factors[n - 1]) * (place - below)
}

impl Spread {
    /// Whether a past forecast came within it.
    pub fn holds(&self, one: &Past) -> bool {
        (self.least..=self.most).contains(&one.factor())
    }
}

/// How forecasts of past pieces came out, each held against the spread of all the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Backtest {
    pub forecasts: usize,
    /// How many came within their 80 % interval.
    pub inside: usize,
}

/// Holds every forecast that could have been made of a product's pieces, batch after batch, against what came: its interval from
/// the forecasts of all other pieces, its earlier curve from the batches before its own.
pub fn backtest(batches: &[Vec<Track>]) -> Backtest {
    let mut before: Vec<Track> = Vec::new();
    let mut of_pieces: Vec<Vec<Past>> = Vec::new();
    for batch in batches {
        let earlier = pooled(&before);
        of_pieces.extend(batch.iter().map(|track| past(track, earlier.as_ref())));
        before.extend(batch.iter().cloned());
    }
    held_against_the_others(&of_pieces)
}

/// Holds the forecasts of each piece against the spread of those of all the others.
pub fn held_against_the_others(of_pieces: &[Vec<Past>]) -> Backtest {
    let mut result = Backtest::default();
    for (own, forecasts) in of_pieces.iter().enumerate() {
        let others = of_pieces.iter().enumerate().filter(|(n, _)| *n != own);
        let others: Vec<Past> = others.flat_map(|(_, all)| all).copied().collect();
        result.forecasts += forecasts.len();
        result.inside += forecasts.iter().filter(|one| spread(&others, one.from).holds(one)).count();
    }
    result
}

#[cfg(test)]
mod tests;
