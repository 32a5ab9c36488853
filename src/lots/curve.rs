//! The drying curve of a piece: loss of green weight over time, drawn from its weigh-ins.

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use crate::measure::{Grams, Percent};
use crate::standards::drying;
use crate::web::parts::{Chart, Curve, Point, Tick};

/// A weight of the piece.
#[derive(Debug, Clone, Copy)]
pub struct Weight {
    pub at: OffsetDateTime,
    pub grams: Grams,
    pub struck: bool,
}

/// What the curve is drawn from.
pub struct Drying<'a> {
    pub green: Grams,
    pub green_at: OffsetDateTime,
    pub target: Option<Percent>,
    pub weights: &'a [Weight],
    pub now: OffsetDateTime,
    /// The curve that is foretold, with the span in which it may reach the target; nothing where nothing is.
    pub ahead: Option<Ahead>,
}

/// What is foretold, as it is drawn: moments and per cent of loss, and the span of days along the target.
pub struct Ahead {
    pub curve: Vec<(OffsetDateTime, Decimal)>,
    pub early: OffsetDateTime,
    pub late: OffsetDateTime,
}

/// The smallest top of the scale, in per cent, so that the first days do not look like a cliff.
const LEAST_TOP: Decimal = Decimal::TEN;
/// Room above the target and the last weigh-in.
const ROOM: Decimal = Decimal::from_parts(11, 0, 0, false, 1);

/// Draws it. `day` says a moment as a day, `weight` a weight as the shop weighs.
pub fn chart(
    drying: &Drying,
    day: impl Fn(OffsetDateTime) -> String,
    weight: impl Fn(Grams) -> String,
) -> Chart {
    let points: Vec<(Weight, Percent)> =
        drying.weights.iter().filter_map(|one| Some((*one, drying.loss(one.grams)?))).collect();
    let standing: Vec<&(Weight, Percent)> = points.iter().filter(|(one, _)| !one.struck).collect();
    let (bottom, top) = drying.span(&standing);
    let end = points.iter().map(|(one, _)| one.at).fold(drying.now, std::cmp::Ord::max);
    let end = drying.ahead.as_ref().map_or(end, |ahead| ahead.late.max(end));
    let x = |at| across(drying.green_at, end, at);
    let y = |loss: Decimal| down(bottom, top, loss);
    let mut path = format!("M0 {}", y(Decimal::ZERO));
    for (one, loss) in &standing {
        path += "L";
        path += &[x(one.at).to_string(), y(loss.decimal()).to_string()].join(" ");
    }
    let begin = Point {
        x: "0".into(),
        y: y(Decimal::ZERO).to_string(),
        class: "",
        title: format!("{}: green, {}", day(drying.green_at), weight(drying.green)),
    };
    let weighed = points.iter().map(|(one, loss)| Point {
        x: x(one.at).to_string(),
        y: y(loss.decimal()).to_string(),
        class: if one.struck { "struck" } else { "" },
        title: format!(
            "{}: {}, {}{}",
            day(one.at),
            weight(one.grams),
            loss.text(),
            if one.struck { ", struck" } else { "" }
        ),
    });
    Chart {
        label: drying.label(&standing, &day),
        ys: ticks(bottom, top)
            .into_iter()
            .map(|loss| tick(y(loss), Percent::new(loss).text_places(0)))
            .collect(),
        xs: moments(drying.green_at, end)
            .into_iter()
            .enumerate()
            // Of four days a phone shows three.
            .map(|(n, at)| Tick { lesser: n == 2, ..tick(x(at), day(at)) })
            .collect(),
        curves: drying
            .foretold(x, y)
            .into_iter()
            .chain((!standing.is_empty()).then_some(Curve { class: "curve", path }))
            .collect(),
        points: std::iter::once(begin).chain(weighed).collect(),
        limits: drying
            .target
            .map(|target| tick(y(target.decimal()), format!("target {target} %")))
            .into_iter()
            .collect(),
        ..Chart::default()
    }
}

impl Drying<'_> {
    /// The curve that is foretold, and the span of days as a band along the target.
    fn foretold(&self, x: impl Fn(OffsetDateTime) -> Decimal, y: impl Fn(Decimal) -> Decimal) -> Vec<Curve> {
        let (Some(ahead), Some(target)) = (&self.ahead, self.target) else { return vec![] };
        let points: Vec<String> =
            ahead.curve.iter().map(|(at, loss)| format!("{} {}", x(*at), y(*loss))).collect();
        let (early, late) = (x(ahead.early), x(ahead.late));
        let (top, bottom) = (y(target.decimal() + Decimal::ONE), y(target.decimal() - Decimal::ONE));
        vec![
            Curve {
                class: "band",
                path: format!("M{early} {top}L{late} {top}L{late} {bottom}L{early} {bottom}Z"),
            },
            Curve { class: "forecast", path: format!("M{}", points.join("L")) },
        ]
    }

    fn loss(&self, grams: Grams) -> Option<Percent> {
        Some(drying::change(self.green, grams).ok()?.loss_percent())
    }

    /// The scale from whole tens to whole tens: nothing at the bottom unless something was gained. A struck weigh-in does
    /// not stretch it; where it lies outside, its point stands at the edge.
    fn span(&self, points: &[&(Weight, Percent)]) -> (Decimal, Decimal) {
        let losses = || points.iter().map(|(_, loss)| loss.decimal());
        let target = self.target.map(Percent::decimal);
        let top = losses().chain(target).fold(LEAST_TOP, std::cmp::Ord::max) * ROOM;
        let bottom = losses().fold(Decimal::ZERO, std::cmp::Ord::min);
        ((bottom / Decimal::TEN).floor() * Decimal::TEN, (top / Decimal::TEN).ceil() * Decimal::TEN)
    }

    fn label(&self, standing: &[&(Weight, Percent)], day: impl Fn(OffsetDateTime) -> String) -> String {
        let target = self.target.map(|target| format!("; the target is {target} %")).unwrap_or_default();
        match standing.last() {
            Some((one, loss)) => {
                let days = (one.at - self.green_at).whole_days();
                let times = if standing.len() == 1 {
                    "one weigh-in".to_owned()
                } else {
                    format!("{} weigh-ins", standing.len())
                };
                format!(
                    "Loss of {} of green weight in {days} days, on {}, by {times}{target}",
                    loss.text(),
                    day(one.at)
                )
            }
            None => format!("Not weighed in yet{target}"),
        }
    }
}

fn tick(at: Decimal, name: String) -> Tick {
    Tick { at: at.to_string(), name, lesser: false }
}

/// At most six lines across, at tens or whole multiples of them.
fn ticks(bottom: Decimal, top: Decimal) -> Vec<Decimal> {
    let tens = ((top - bottom) / Decimal::TEN).ceil();
    let step = Decimal::TEN * (tens / Decimal::from(5)).ceil().max(Decimal::ONE);
    let mut at = bottom;
    let mut all = Vec::new();
    while at <= top {
        all.push(at);
        at += step;
    }
    all
}

/// Beginning, end, and two moments between where there is room for them.
fn moments(from: OffsetDateTime, to: OffsetDateTime) -> Vec<OffsetDateTime> {
    let days = (to - from).whole_days();
    if days < 2 {
        return vec![from];
    }
    if days < 6 {
        return vec![from, to];
    }
    let third = Duration::days(days / 3);
    vec![from, from + third, from + third + third, to]
}

fn across(from: OffsetDateTime, to: OffsetDateTime, at: OffsetDateTime) -> Decimal {
    let whole = Decimal::from((to - from).whole_seconds().max(1));
    let part = Decimal::from((at - from).whole_seconds());
    (part * Decimal::ONE_HUNDRED / whole).clamp(Decimal::ZERO, Decimal::ONE_HUNDRED).round_dp(2).normalize()
}

fn down(bottom: Decimal, top: Decimal, loss: Decimal) -> Decimal {
    let part = (top - loss) * Decimal::ONE_HUNDRED / (top - bottom);
    part.clamp(Decimal::ZERO, Decimal::ONE_HUNDRED).round_dp(2).normalize()
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::datetime;

    use super::*;

    const HUNG: OffsetDateTime = datetime!(2026-10-28 09:00 UTC);

    fn weight(days: i64, grams: i64, struck: bool) -> Weight {
        Weight { at: HUNG + Duration::days(days), grams: Grams::whole(grams), struck }
    }

    fn drawn(weights: &[Weight]) -> Chart {
        let drying = Drying {
            green: Grams::whole(2_000),
            green_at: HUNG,
            target: Some(Percent::new(dec!(35))),
            weights,
            now: HUNG + Duration::days(28),
            ahead: None,
        };
        chart(&drying, |at| at.date().to_string(), Grams::metric)
    }

    #[test]
    fn the_curve_runs_through_what_stands_and_a_struck_weigh_in_stays_as_a_point() {
        let chart = drawn(&[weight(7, 1_800, false), weight(14, 900, true), weight(28, 1_600, false)]);
        // Scale 0 to 40: 10 % is at 75 from the top, 20 % at 50.
        assert_eq!(chart.curves[0].path, "M0 100L25 75L100 50");
        let classes: Vec<&str> = chart.points.iter().map(|point| point.class).collect();
        assert_eq!(classes, ["", "", "struck", ""]);
    }

    #[test]
    fn the_target_is_a_line_across() {
        let chart = drawn(&[weight(7, 1_800, false)]);
        assert_eq!((chart.limits[0].at.as_str(), chart.limits[0].name.as_str()), ("12.5", "target 35 %"));
    }

    #[test]
    fn what_is_foretold_stretches_the_scale_and_lies_behind_the_curve() {
        let weights = [weight(14, 1_600, false)];
        let drying = Drying {
            green: Grams::whole(2_000),
            green_at: HUNG,
            target: Some(Percent::new(dec!(35))),
            weights: &weights,
            now: HUNG + Duration::days(14),
            ahead: Some(Ahead {
                curve: vec![(HUNG, dec!(0)), (HUNG + Duration::days(35), dec!(35))],
                early: HUNG + Duration::days(28),
                late: HUNG + Duration::days(56),
            }),
        };
        let chart = chart(&drying, |at| at.date().to_string(), Grams::metric);
        let drawn: Vec<(&str, &str)> =
            chart.curves.iter().map(|curve| (curve.class, curve.path.as_str())).collect();
        assert_eq!(drawn[0], ("band", "M50 10L100 10L100 15L50 15Z"));
        assert_eq!(drawn[1], ("forecast", "M0 100L62.5 12.5"));
        assert_eq!(drawn[2], ("curve", "M0 100L25 50"));
    }

    #[test]
    fn a_gain_has_room_below_the_green_weight() {
        let chart = drawn(&[weight(1, 2_040, false)]);
        assert_eq!(chart.ys.first().map(|tick| tick.name.as_str()), Some("\u{2212}10 %"));
    }

    #[test]
    fn a_piece_that_was_never_weighed_in_shows_its_green_weight_only() {
        let chart = drawn(&[]);
        assert!(chart.curves.is_empty());
        assert_eq!(chart.points.len(), 1);
        assert!(chart.label.starts_with("Not weighed in yet"));
    }

    #[test]
    fn a_scale_has_no_more_than_six_lines() {
        for top in 1..=10 {
            let lines = ticks(Decimal::ZERO, Decimal::from(top * 10)).len();
            assert!((2..=6).contains(&lines), "{top}: {lines}");
        }
    }
}
