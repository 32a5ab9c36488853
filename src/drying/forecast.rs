//! When a piece may reach its target loss, by the curve through its weigh-ins and by how earlier forecasts came out.
#![allow(clippy::float_arithmetic, reason = "days ahead are read off a fitted curve")]

use time::OffsetDateTime;

use super::fit::{self, Backtest, Curve, Fitted, From, Past, Spread};
use super::scale;
use crate::book::Seq;
use crate::ids::{BatchId, LotId, PlaceId};
use crate::measure::{Grams, LotCode, Percent};
use crate::standards::{Change, drying};

/// One weigh-in that stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WeighIn {
    pub seq: Seq,
    pub grams: Grams,
    /// What the book said before it.
    pub before: Grams,
    pub at: OffsetDateTime,
}

/// A piece with its weigh-ins, in the order of time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weighed {
    pub lot: LotId,
    pub batch: BatchId,
    pub code: LotCode,
    pub green: Grams,
    pub green_at: OffsetDateTime,
    pub target: Option<Percent>,
    pub place: Option<PlaceId>,
    pub on_hand: bool,
    pub weighed: Vec<WeighIn>,
}

impl Weighed {
    /// Per cent of green weight lost at the last weigh-in; none before the first.
    pub fn loss(&self) -> Option<Percent> {
        self.weighed.last().and_then(|one| self.loss_at(one))
    }

    pub fn loss_at(&self, one: &WeighIn) -> Option<Percent> {
        drying::change(self.green, one.grams).ok().map(Change::loss_percent)
    }

    /// The weigh-in by which the target was reached first.
    pub fn reached(&self) -> Option<&WeighIn> {
        let target = self.target?;
        self.weighed.iter().find(|one| self.has_lost(one, target))
    }

    /// Whether it had lost at least so much of its green weight by a weigh-in.
    pub fn has_lost(&self, one: &WeighIn, target: Percent) -> bool {
        drying::reached(self.green, one.grams, target)
    }
}

/// A day that is foretold, with the span in which eight of ten past forecasts would have put it.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    pub at: OffsetDateTime,
    pub early: OffsetDateTime,
    pub late: OffsetDateTime,
    pub fitted: Fitted,
    pub weigh_ins: usize,
    pub spread: Spread,
    green_at: OffsetDateTime,
    /// The day of its last weigh-in.
    known: f64,
}

/// What can be said ahead of a piece.
#[derive(Debug, Clone, PartialEq)]
pub enum Ahead {
    /// Measured: the weigh-in that reached the target.
    Reached(WeighIn),
    Foretold(Forecast),
    /// No forecast, and why not.
    Cannot(String),
}

/// The pieces of a product, batch after batch, and what their past forecasts say.
#[derive(Debug, Clone)]
pub struct History {
    pub pieces: Vec<Weighed>,
    /// Of each batch the curve of those before it.
    earlier: Vec<(BatchId, Option<Curve>)>,
    /// Of each piece the forecasts that could have been made of it.
    past: Vec<Vec<Past>>,
}

impl History {
    /// `pieces` in the order in which their batches were begun.
    pub fn of(pieces: Vec<Weighed>) -> Self {
        let mut earlier: Vec<(BatchId, Option<Curve>)> = Vec::new();
        let mut past = Vec::new();
        for piece in &pieces {
            let curve = match earlier.last() {
                Some((batch, curve)) if *batch == piece.batch => *curve,
                _ => {
                    let curve = before(&pieces, piece.batch);
                    earlier.push((piece.batch, curve));
                    curve
                }
            };
            past.push(fit::past(&scale::track(piece), curve.as_ref()));
        }
        Self { pieces, earlier, past }
    }

    /// The curve of the batches before this one.
    fn earlier(&self, batch: BatchId) -> Option<Curve> {
        self.earlier.iter().find(|(known, _)| *known == batch).and_then(|(_, curve)| *curve)
    }

    /// How the forecasts that could have been made so far came out, each held against those of all other pieces; nothing as long as
    /// there are too few to say.
    pub fn came_out(&self) -> Option<String> {
        let Backtest { forecasts, inside } = fit::held_against_the_others(&self.past);
        (forecasts >= fit::ENOUGH).then(|| {
            let share = inside * 100 / forecasts;
            format!(
                "Of the {forecasts} forecasts that could have been made of this product's pieces so far, {inside} came within the \
                 interval that the other pieces gave, {share} %."
            )
        })
    }

    pub fn of_batch(&self, batch: BatchId) -> impl Iterator<Item = &Weighed> {
        self.pieces.iter().filter(move |piece| piece.batch == batch)
    }

    pub fn piece(&self, lot: LotId) -> Option<&Weighed> {
        self.pieces.iter().find(|piece| piece.lot == lot)
    }

    /// What can be said ahead of one of them. It writes nothing, and nothing is let go by it.
    pub fn ahead(&self, piece: &Weighed) -> Ahead {
        let Some(target) = piece.target else {
            return Ahead::Cannot("Its recipe names no target loss.".into());
        };
        if let Some(reached) = piece.reached() {
            return Ahead::Reached(*reached);
        }
        let points = scale::track(piece);
        if points.len() < piece.weighed.len() {
            return Ahead::Cannot(
                "Something was cut off it since it was hung, so its weight no longer shows its drying."
                    .into(),
            );
        }
        let earlier = self.earlier(piece.batch);
        let Some(fitted) = fit::choose(&points, earlier.as_ref()) else {
            return Ahead::Cannot(too_few(points.len()));
        };
        let Some(days) = fitted.curve.reaches(scale::share(target)) else {
            return Ahead::Cannot(levels_off(&fitted.curve, target));
        };
        let known = points.last().map_or(0.0, |point| point.days);
        let left = (days - known).max(0.5);
        let at = |factor: f64| scale::moment(piece.green_at, known + left * factor);
        let past: Vec<Past> = self.past.iter().flatten().copied().collect();
        let spread = fit::spread(&past, points.len());
        Ahead::Foretold(Forecast {
            at: at(spread.middle),
            early: at(spread.least),
            late: at(spread.most),
            fitted,
            weigh_ins: points.len(),
            spread,
            green_at: piece.green_at,
            known,
        })
    }
}

/// The curve of the batches before this one.
fn before(pieces: &[Weighed], batch: BatchId) -> Option<Curve> {
    let before: Vec<_> = pieces.iter().take_while(|piece| piece.batch != batch).map(scale::track).collect();
    fit::pooled(&before)
}

fn too_few(points: usize) -> String {
    let have = match points {
        0 => "It was not weighed in yet".to_owned(),
        1 => "It has one weigh-in that can be fitted".to_owned(),
        n => format!("Its {n} weigh-ins show no curve"),
    };
    format!(
        "{have}, and no earlier batch of this product says more. A curve needs {} weigh-ins that lose.",
        fit::OWN
    )
}

fn levels_off(curve: &Curve, target: Percent) -> String {
    match curve {
        Curve::Levels { most, .. } if *most <= scale::share(target) => format!(
            "The curve through its weigh-ins levels off at {} %, short of the target of {target} %.",
            scale::percent(*most).round_dp(1).normalize()
        ),
        _ => "The curve through its weigh-ins reaches the target too far ahead to say.".into(),
    }
}

impl Forecast {
    /// Points of its curve for drawing, from the green weight to the day that is foretold: moments and per cent of loss.
    pub fn drawn(&self) -> Vec<(OffsetDateTime, rust_decimal::Decimal)> {
        const STEPS: u8 = 40;
        let days = scale::days(self.green_at, self.at);
        (0..=STEPS)
            .map(|n| {
                let at = days * f64::from(n) / f64::from(STEPS);
                (
                    scale::moment(self.green_at, at),
                    scale::percent(self.fitted.curve.at(self.on_the_curve(at))),
                )
            })
            .collect()
    }

    /// The day of the curve that a day of the forecast stands for: what is still to come takes as much longer as it took before.
    fn on_the_curve(&self, at: f64) -> f64 {
        if at <= self.known || self.spread.middle <= 0.0 {
            at
        } else {
            self.known + (at - self.known) / self.spread.middle
        }
    }

    /// How it was made, in words that can be followed.
    pub fn how(&self) -> String {
        let curve = match self.fitted.curve {
            Curve::Levels { most, rate } => format!(
                "loss = L∞ × (1 − e^(−k × days)) with L∞ {} % and k {} a day",
                scale::said(most * 100.0, 1),
                scale::said(rate, 4)
            ),
            Curve::Power { scale: a, power } => format!(
                "loss = a × days^b with a {} % and b {}",
                scale::said(a * 100.0, 2),
                scale::said(power, 3)
            ),
        };
        let from = match (self.fitted.from, self.weigh_ins) {
            (From::Own, n) => format!("fitted by least squares to its {n} weigh-ins"),
            (From::Earlier, 0) => "the curve of the earlier batches of this product".to_owned(),
            (From::Earlier, n) => {
                format!(
                    "the curve of the earlier batches of this product, stretched to its weigh-ins so far ({n})"
                )
            }
        };
        let span = if self.spread.forecasts < fit::ENOUGH {
            format!(
                "The span is a first guess, two thirds to one and a half times the days still to go: only {} forecasts of this product could be held against what came.",
                self.spread.forecasts
            )
        } else {
            let alike = if self.spread.alike { " from as many weigh-ins" } else { "" };
            format!(
                "The span: {} forecasts{alike} could have been made of this product's pieces so far and held against what came; half of them took more than {} times the days that the curve foretold, which is what the day is set by, and eight in ten took between {} and {} times.",
                self.spread.forecasts,
                scale::said(self.spread.middle, 2),
                scale::said(self.spread.least, 2),
                scale::said(self.spread.most, 2)
            )
        };
        format!(
            "Curve: {curve}, {from}. Of the curves that could be fitted it foretold the last weigh-ins best when they were held out. {span}"
        )
    }
}

#[cfg(test)]
mod tests;
