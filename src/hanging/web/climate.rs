//! The air of a place as charts: temperature, humidity and dew point over a span of days, with the limits in force, and the
//! stretches in which it was past one.

use rust_decimal::Decimal;
use sqlx::PgConnection;
use time::Duration;

use super::super::dew_point;
use super::plot::{self, Frame};
use crate::checks::{self, Against, Quantity, Value};
use crate::error::Result;
use crate::ids::PlaceId;
use crate::loggers::{self, Bucket, Excursion};
use crate::measure::{Celsius, UnitSystem};
use crate::web::parts::{Chart, Curve, Point, Tab, Tick};
use crate::web::{Me, ledger};

/// In how many stretches a span is drawn.
const STRETCHES: i32 = 180;
/// With so few values each one is a circle.
const CIRCLES: i64 = 80;
/// How many stretches past a limit the page lists of each quantity.
const EXCURSIONS: i64 = 8;

/// How far back the charts go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    word: &'static str,
    name: &'static str,
    days: i64,
}

const SPANS: [Span; 4] = [
    Span { word: "24h", name: "24 h", days: 1 },
    Span { word: "7d", name: "7 days", days: 7 },
    Span { word: "30d", name: "30 days", days: 30 },
    Span { word: "90d", name: "90 days", days: 90 },
];

impl Span {
    /// The span of this word; 30 days where it is none.
    pub fn of(word: &str) -> Self {
        SPANS.into_iter().find(|span| span.word == word).unwrap_or(SPANS[2])
    }
}

/// A chart with its heading.
pub struct Climate {
    pub title: &'static str,
    pub chart: Chart,
    pub last: String,
}

/// A stretch past a limit, ready to print.
pub struct Past {
    pub what: &'static str,
    pub from: String,
    pub lasted: String,
    pub furthest: String,
}

/// The air of a place.
pub struct Air {
    pub charts: Vec<Climate>,
    pub past: Vec<Past>,
    pub spans: Vec<Tab>,
    /// Whether anything was ever measured here.
    pub any: bool,
}

/// Reads and draws it.
pub async fn air(me: &Me, conn: &mut PgConnection, place: PlaceId, span: Span) -> Result<Air> {
    let measured = loggers::measured_in(conn, place).await?;
    let until = me.now + Duration::SECOND;
    let since = me.now - Duration::days(span.days);
    let frame = Frame { me, since, until: me.now, days: span.days };
    let (mut charts, mut past, mut both) = (Vec::new(), Vec::new(), Vec::new());
    for quantity in [Quantity::Temperature, Quantity::Humidity] {
        let buckets = loggers::thinned(conn, measured, quantity, since, until, STRETCHES).await?;
        let limits = checks::limits_of_place(conn, measured, quantity).await?;
        if !buckets.is_empty() {
            charts.push(chart(&frame, quantity, &buckets, &limits));
            let ends = ends(&limits);
            if ends != (None, None) {
                let found =
                    loggers::excursions(conn, measured, quantity, ends, (since, until), EXCURSIONS).await?;
                past.extend(found.iter().map(|one| said_past(me, quantity, one, ends)));
            }
        }
        both.push(buckets);
    }
    if let [temperatures, humidities] = both.as_slice() {
        charts.extend(dew(&frame, temperatures, humidities));
    }
    let any = !charts.is_empty();
    let tab = |one: Span| Tab {
        href: format!("{}?span={}#air", place.path(), one.word),
        name: one.name.into(),
        count: String::new(),
        here: one == span,
    };
    Ok(Air { charts, past, spans: SPANS.into_iter().map(tab).collect(), any })
}

/// The narrowest band of several limits.
fn ends(limits: &[Against]) -> (Option<Decimal>, Option<Decimal>) {
    let least = limits.iter().filter_map(|limit| limit.least).map(Value::decimal).max();
    let most = limits.iter().filter_map(|limit| limit.most).map(Value::decimal).min();
    (least, most)
}

/// What the axis counts in: the shop's degrees, or per cent.
fn on_axis(me: &Me, quantity: Quantity, value: Decimal) -> Decimal {
    match (quantity, me.shop.system, Celsius::new(value)) {
        (Quantity::Temperature, UnitSystem::Us, Ok(value)) => value.fahrenheit(),
        _ => value,
    }
}

fn said(me: &Me, quantity: Quantity, value: Decimal) -> String {
    // A mean has more decimals than a reading.
    let value = if quantity == Quantity::Humidity { value.round_dp(1) } else { value.round_dp(2) };
    Value::of(quantity, value)
        .map_or_else(|_| value.normalize().to_string(), |value| value.text(me.shop.system))
}

fn chart(frame: &Frame, quantity: Quantity, buckets: &[Bucket], limits: &[Against]) -> Climate {
    let me = frame.me;
    let axis = |value| on_axis(me, quantity, value);
    let (least, most) = ends(limits);
    let values = buckets.iter().flat_map(|one| [one.least, one.most]).chain(least).chain(most).map(axis);
    let (low, high) = plot::span(values);
    let y = |value| plot::down(low, high, axis(value));
    let count: i64 = buckets.iter().map(|one| one.values).sum();
    let mut curves = Vec::new();
    if least.or(most).is_some() {
        let (top, bottom) = (most.map_or(Decimal::ZERO, &y), least.map_or(Decimal::ONE_HUNDRED, &y));
        curves.push(Curve { class: "allowed", path: plot::block(top, bottom) });
    }
    if buckets.iter().any(|one| one.least != one.most) {
        curves.push(Curve {
            class: "band",
            path: plot::band(frame, buckets, |one| (y(one.least), y(one.most))),
        });
    }
    curves.push(Curve { class: "curve", path: plot::line(frame, buckets, |one| y(one.mean)) });
    let point = |one: &Bucket| {
        let out = least.is_some_and(|least| one.mean < least) || most.is_some_and(|most| one.mean > most);
        Point {
            x: frame.across(plot::middle(one)).to_string(),
            y: y(one.mean).to_string(),
            class: if out { "out" } else { "" },
            title: format!("{}, {}", said(me, quantity, one.mean), ledger::moment(me, one.last)),
        }
    };
    let extremes = (
        buckets.iter().map(|one| one.least).min().unwrap_or_default(),
        buckets.iter().map(|one| one.most).max().unwrap_or_default(),
    );
    let band = format!("from {} to {}", said(me, quantity, extremes.0), said(me, quantity, extremes.1));
    let last = buckets.last().map_or_else(String::new, |one| {
        let values = if count == 1 { "1 value".to_owned() } else { format!("{count} values") };
        format!("{band}; last on {}. {values}, by loggers and by hand.", ledger::moment(me, one.last))
    });
    let limit = |name: &str, value: Decimal| Tick {
        at: y(value).to_string(),
        name: format!("{name} {}", said(me, quantity, value)),
        lesser: false,
    };
    let chart = Chart {
        label: format!("{} over {}, {band}", quantity.name(), frame.said()),
        ys: plot::ys(low, high),
        xs: frame.xs(),
        curves,
        points: if count <= CIRCLES { buckets.iter().map(point).collect() } else { vec![] },
        limits: least
            .map(|value| limit("at least", value))
            .into_iter()
            .chain(most.map(|value| limit("at most", value)))
            .collect(),
        ..Chart::default()
    };
    Climate { title: if quantity == Quantity::Temperature { "Temperature" } else { "Humidity" }, chart, last }
}

/// The dew point where temperature and humidity were measured in one stretch.
fn dew(frame: &Frame, temperatures: &[Bucket], humidities: &[Bucket]) -> Option<Climate> {
    let me = frame.me;
    let mut buckets: Vec<Bucket> = Vec::new();
    for one in temperatures {
        let air = humidities.binary_search_by_key(&one.stretch, |air| air.stretch);
        let Ok(air) = air.map(|n| humidities[n]) else { continue };
        if let Some(dew) = dew_point::of_air(one.mean, air.mean) {
            buckets.push(Bucket { least: dew, most: dew, mean: dew, ..*one });
        }
    }
    let last = buckets.last()?;
    let quantity = Quantity::Temperature;
    let (low, high) = plot::span(buckets.iter().map(|one| on_axis(me, quantity, one.mean)));
    let y = |one: &Bucket| plot::down(low, high, on_axis(me, quantity, one.mean));
    let least = buckets.iter().map(|one| one.least).min().unwrap_or_default();
    let most = buckets.iter().map(|one| one.most).max().unwrap_or_default();
    let band = format!("from {} to {}", said(me, quantity, least), said(me, quantity, most));
    let last = format!("{band}; {} on {}.", said(me, quantity, last.mean), ledger::moment(me, last.last));
    let chart = Chart {
        label: format!("Dew point over {}, {band}", frame.said()),
        ys: plot::ys(low, high),
        xs: frame.xs(),
        curves: vec![Curve { class: "curve", path: plot::line(frame, &buckets, y) }],
        ..Chart::default()
    };
    Some(Climate { title: "Dew point", chart, last })
}

fn said_past(me: &Me, quantity: Quantity, one: &Excursion, ends: (Option<Decimal>, Option<Decimal>)) -> Past {
    let under = ends.0.map_or(Decimal::ZERO, |least| least - one.least);
    let over = ends.1.map_or(Decimal::ZERO, |most| one.most - most);
    let furthest = if under > over { one.least } else { one.most };
    let minutes = (one.last - one.first).whole_minutes();
    let lasted = match (one.values, minutes) {
        (1, _) => "one value".to_owned(),
        (_, ..120) => format!("{minutes} min"),
        _ => format!("{} h {} min", minutes / 60, minutes % 60),
    };
    Past {
        what: quantity.name(),
        from: ledger::moment(me, one.first),
        lasted,
        furthest: said(me, quantity, furthest),
    }
}
