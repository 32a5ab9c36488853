//! The chamber's temperature and the pH over the time of a run, as two charts with one span.

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use super::super::entry::{Adopted, figure};
use super::super::run::{Reckoned, Run};
use super::{in_shop, temperature};
use crate::measure::Ph;
use crate::standards::degree_hours::{PH_END, Segment};
use crate::web::parts::{Chart, Curve, Point, Tick};
use crate::web::{Me, ledger};

/// A chart with its heading and what stands beneath it.
pub struct Drawn {
    pub title: String,
    pub chart: Chart,
    pub caption: String,
}

/// More lines than this are drawn by their highest points only.
const MOST_LINES: usize = 240;
/// Fewer readings than this are drawn as circles.
const MOST_POINTS: usize = 60;

/// Where a moment lies between two, in per cent.
fn across(from: OffsetDateTime, to: OffsetDateTime, at: OffsetDateTime) -> Decimal {
    let whole = Decimal::from((to - from).whole_seconds().max(1));
    let part = Decimal::from((at - from).whole_seconds());
    (part * Decimal::ONE_HUNDRED / whole).clamp(Decimal::ZERO, Decimal::ONE_HUNDRED).round_dp(2).normalize()
}

fn down(low: Decimal, high: Decimal, value: Decimal) -> Decimal {
    let part = (high - value) * Decimal::ONE_HUNDRED / (high - low);
    part.clamp(Decimal::ZERO, Decimal::ONE_HUNDRED).round_dp(2).normalize()
}

/// Beginning and end, and the middle where there is room for it.
fn moments(me: &Me, from: OffsetDateTime, to: OffsetDateTime) -> Vec<Tick> {
    let name = |at| if to - from < Duration::days(4) { ledger::moment(me, at) } else { ledger::day(me, at) };
    let tick = |at, lesser| Tick { at: across(from, to, at).to_string(), name: name(at), lesser };
    vec![tick(from, false), tick(from + (to - from) / 2, true), tick(to, false)]
}

fn path(points: &[(Decimal, Decimal)]) -> String {
    let said: Vec<String> = points.iter().map(|(x, y)| format!("{x} {y}")).collect();
    if said.is_empty() { String::new() } else { format!("M{}", said.join("L")) }
}

/// The lines to draw: all of them, or of many the highest point of each of some spans.
fn knots(segments: &[Segment]) -> Vec<(OffsetDateTime, Decimal)> {
    let all: Vec<(OffsetDateTime, Decimal)> = segments
        .iter()
        .flat_map(|segment| [(segment.from, segment.first), (segment.to, segment.last)])
        .collect();
    if segments.len() <= MOST_LINES {
        return all;
    }
    all.chunks(all.len().div_ceil(MOST_LINES))
        .filter_map(|some| some.iter().copied().max_by_key(|knot| knot.1))
        .collect()
}

/// Both charts; the pH only where it was measured.
pub fn charts(me: &Me, run: &Run, by: &Adopted, reckoned: &Reckoned) -> Vec<Drawn> {
    let Some((from, _)) = run.stuffed else { return Vec::new() };
    let last = run.phs.last().map_or(run.until, |read| read.at);
    let to = run.until.max(last.min(run.until + Duration::days(2))).max(from + Duration::minutes(1));
    let mut all = Vec::new();
    if !reckoned.segments.is_empty() {
        all.push(chamber(me, run, by, reckoned, (from, to)));
    }
    if !run.phs.is_empty() {
        all.push(ph(me, run, (from, to)));
    }
    all
}

fn chamber(
    me: &Me,
    run: &Run,
    by: &Adopted,
    reckoned: &Reckoned,
    (from, to): (OffsetDateTime, OffsetDateTime),
) -> Drawn {
    let set = by.rules.set();
    let shop = |degrees| in_shop(me, set.scale, degrees);
    let knots = knots(&reckoned.segments);
    let values = || knots.iter().map(|(_, degrees)| shop(*degrees)).chain([shop(set.base)]);
    let low = values().min().unwrap_or_default().floor() - Decimal::ONE;
    let high = values().max().unwrap_or_default().ceil() + Decimal::ONE;
    let place = |at, degrees| (across(from, to, at), down(low, high, shop(degrees)));
    let line: Vec<(Decimal, Decimal)> = knots.iter().map(|(at, degrees)| place(*at, *degrees)).collect();
    let gaps = reckoned.segments.iter().filter(|segment| segment.gap).map(|gap| {
        let (a, b) = (across(from, to, gap.from), across(from, to, gap.to));
        Curve { class: "band", path: format!("M{a} 0L{b} 0L{b} 100L{a} 100Z") }
    });
    let step = (high - low) / Decimal::TWO;
    let unit = me.shop.temperature_unit().symbol();
    let highest = reckoned.warmth.as_ref().map(|warmth| temperature(me, set.scale, warmth.highest));
    let gaps: Vec<Curve> = gaps.collect();
    let in_gaps = if gaps.is_empty() { "" } else { ", with gaps" };
    let visits = run.ways.get(reckoned.way).map(Vec::as_slice).unwrap_or_default();
    let read: Vec<_> = visits
        .iter()
        .flat_map(|visit| visit.temps.iter().filter(move |temp| temp.at >= visit.from && temp.at <= visit.to))
        .collect();
    let points = read.iter().filter(|_| read.len() <= MOST_POINTS).map(|temp| {
        let degrees = set.scale.of(temp.celsius);
        let (x, y) = place(temp.at, degrees);
        let title = format!("{}: {}", ledger::moment(me, temp.at), temperature(me, set.scale, degrees));
        Point { x: x.to_string(), y: y.to_string(), class: "", title }
    });
    Drawn {
        title: format!("Chamber temperature, {unit}"),
        chart: Chart {
            label: format!(
                "Chamber temperature from {} to {}, highest {}{in_gaps}; the figures stand in the table below",
                ledger::moment(me, from),
                ledger::moment(me, to),
                highest.unwrap_or_default()
            ),
            ys: [low, low + step, high]
                .into_iter()
                .map(|value| Tick {
                    at: down(low, high, value).to_string(),
                    name: figure(value),
                    lesser: false,
                })
                .collect(),
            xs: moments(me, from, to),
            points: points.collect(),
            curves: gaps.into_iter().chain([Curve { class: "curve", path: path(&line) }]).collect(),
            limits: vec![Tick {
                at: down(low, high, shop(set.base)).to_string(),
                name: format!("counts above {}\u{a0}{}", figure(set.base), set.scale.symbol()),
                lesser: false,
            }],
            ..Chart::default()
        },
        caption: format!(
            "Between two readings the temperature is taken to go in a straight line. Grey: nothing read for more than \
             {}\u{a0}h, counted at the higher reading beside it.",
            by.largest_gap
        ),
    }
}

fn ph(me: &Me, run: &Run, (from, to): (OffsetDateTime, OffsetDateTime)) -> Drawn {
    let reads: Vec<_> = run.phs.iter().filter(|read| read.at <= to).collect();
    let end = Ph::decimal(PH_END);
    let values = || reads.iter().map(|read| read.value.decimal()).chain([end]);
    let half = Decimal::new(5, 1);
    let low = (values().min().unwrap_or(end) / half).floor() * half - half;
    let high = (values().max().unwrap_or(end) / half).ceil() * half;
    let places: Vec<(Decimal, Decimal)> =
        reads.iter().map(|read| (across(from, to, read.at), down(low, high, read.value.decimal()))).collect();
    let points = reads.iter().zip(&places).map(|(read, (x, y))| Point {
        x: x.to_string(),
        y: y.to_string(),
        class: "",
        title: format!("{}: {}, {}", ledger::moment(me, read.at), read.value.text(), read.name),
    });
    let first = reads.first().map(|read| read.value.text()).unwrap_or_default();
    let last = reads.last().map(|read| read.value.text()).unwrap_or_default();
    let step = (high - low) / Decimal::TWO;
    Drawn {
        title: "pH".into(),
        chart: Chart {
            label: format!(
                "From {first} to {last} in {} readings; the figures stand in the table below",
                reads.len()
            ),
            ys: [low, low + step, high]
                .into_iter()
                .map(|value| Tick {
                    at: down(low, high, value).to_string(),
                    name: value.round_dp(2).normalize().to_string(),
                    lesser: false,
                })
                .collect(),
            xs: moments(me, from, to),
            curves: vec![Curve { class: "curve", path: path(&places) }],
            points: points.collect(),
            limits: vec![Tick { at: down(low, high, end).to_string(), name: "pH 5.3".into(), lesser: false }],
            ..Chart::default()
        },
        caption:
            "Circles are readings on the batch or its pieces. The count ends with the first of 5.3 or less."
                .into(),
    }
}
