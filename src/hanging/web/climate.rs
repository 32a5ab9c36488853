//! The readings of a place as small charts: temperature and humidity over the last days.

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use super::super::db::Reading;
use crate::measure::{Celsius, Humidity, UnitSystem};
use crate::web::Me;
use crate::web::ledger;
use crate::web::parts::{Chart, Curve, Point, Tick};

/// How many days the charts go back.
pub const DAYS: i64 = 14;

/// A chart with its heading.
pub struct Climate {
    pub title: &'static str,
    pub chart: Chart,
    pub last: String,
}

/// A chart for each quantity that was read, humidity after temperature.
pub fn charts(me: &Me, readings: &[Reading]) -> Vec<Climate> {
    ["temperature", "humidity"]
        .into_iter()
        .filter_map(|quantity| {
            let of: Vec<&Reading> = readings.iter().filter(|reading| reading.quantity == quantity).collect();
            let last = of.last()?;
            let title = if quantity == "temperature" { "Temperature" } else { "Humidity" };
            let when = format!("{} {}", ledger::day(me, last.at), ledger::time(me, last.at));
            let last = format!("Last {} on {when}. {} in {DAYS} days.", said(me, last), count(of.len()));
            Some(Climate { title, chart: chart(me, title, &of), last })
        })
        .collect()
}

fn count(readings: usize) -> String {
    if readings == 1 { "1 reading".to_owned() } else { format!("{readings} readings") }
}

fn said(me: &Me, reading: &Reading) -> String {
    let text = match reading.quantity.as_str() {
        "temperature" => Celsius::new(reading.value).map(|value| value.text(me.shop.system)),
        _ => Humidity::new(reading.value).map(Humidity::text),
    };
    text.unwrap_or_else(|_| reading.value.normalize().to_string())
}

/// What the axis counts in: the shop's degrees, or per cent.
fn on_axis(me: &Me, reading: &Reading) -> Decimal {
    match (reading.quantity.as_str(), me.shop.system, Celsius::new(reading.value)) {
        ("temperature", UnitSystem::Us, Ok(value)) => value.fahrenheit(),
        _ => reading.value,
    }
}

fn chart(me: &Me, title: &str, readings: &[&Reading]) -> Chart {
    let values: Vec<Decimal> = readings.iter().map(|reading| on_axis(me, reading)).collect();
    let (low, high) = span(&values);
    let from = me.now - Duration::days(DAYS);
    let places: Vec<(Decimal, Decimal)> = readings
        .iter()
        .zip(&values)
        .map(|(reading, value)| (across(from, me.now, reading.at), down(low, high, *value)))
        .collect();
    let step = (high - low) / Decimal::TWO;
    let tick = |at: OffsetDateTime| Tick {
        at: across(from, me.now, at).to_string(),
        name: ledger::day(me, at),
        lesser: false,
    };
    let days = [from, from + Duration::days(DAYS / 2), me.now];
    let least = readings.iter().min_by_key(|reading| reading.value).map(|reading| said(me, reading));
    let most = readings.iter().max_by_key(|reading| reading.value).map(|reading| said(me, reading));
    Chart {
        label: format!(
            "{title} over {DAYS} days, from {} to {}",
            least.unwrap_or_default(),
            most.unwrap_or_default()
        ),
        ys: [low, low + step, high]
            .iter()
            .map(|value| Tick {
                at: down(low, high, *value).to_string(),
                name: value.round_dp(1).normalize().to_string(),
                lesser: false,
            })
            .collect(),
        xs: days.into_iter().map(tick).collect(),
        curves: vec![Curve { class: "curve", path: path(&places) }],
        points: readings
            .iter()
            .zip(&places)
            .map(|(reading, (x, y))| Point {
                x: x.to_string(),
                y: y.to_string(),
                class: "",
                title: format!(
                    "{}, {} {}",
                    said(me, reading),
                    ledger::day(me, reading.at),
                    ledger::time(me, reading.at)
                ),
            })
            .collect(),
        ..Chart::default()
    }
}

/// Whole figures around what was read, at least two apart.
fn span(values: &[Decimal]) -> (Decimal, Decimal) {
    let low = values.iter().min().copied().unwrap_or_default().floor();
    let high = values.iter().max().copied().unwrap_or_default().ceil();
    if high - low < Decimal::TWO { (low - Decimal::ONE, low + Decimal::ONE) } else { (low, high) }
}

/// The path through points of a plot.
pub fn path(points: &[(Decimal, Decimal)]) -> String {
    let said: Vec<String> = points.iter().map(|(x, y)| format!("{x} {y}")).collect();
    if said.is_empty() { String::new() } else { format!("M{}", said.join("L")) }
}

fn across(from: OffsetDateTime, to: OffsetDateTime, at: OffsetDateTime) -> Decimal {
    let whole = Decimal::from((to - from).whole_seconds().max(1));
    let part = Decimal::from((at - from).whole_seconds());
    (part * Decimal::ONE_HUNDRED / whole).clamp(Decimal::ZERO, Decimal::ONE_HUNDRED).round_dp(2).normalize()
}

fn down(low: Decimal, high: Decimal, value: Decimal) -> Decimal {
    ((high - value) * Decimal::ONE_HUNDRED / (high - low)).round_dp(2).normalize()
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    #[test]
    fn a_chamber_that_never_changed_still_has_a_scale() {
        assert_eq!(span(&[dec!(12.4), dec!(12.4)]), (dec!(11), dec!(13)));
        assert_eq!(span(&[dec!(3), dec!(3)]), (dec!(2), dec!(4)));
        assert_eq!(span(&[dec!(74.5), dec!(81.2)]), (dec!(74), dec!(82)));
    }

    #[test]
    fn the_highest_reading_stands_on_top() {
        assert_eq!(down(dec!(0), dec!(10), dec!(10)), dec!(0));
        assert_eq!(down(dec!(0), dec!(10), dec!(2.5)), dec!(75));
        assert_eq!(path(&[(dec!(0), dec!(75)), (dec!(50.5), dec!(0))]), "M0 75L50.5 0");
    }
}
