//! From exact weights to the points of a curve and back to days: the one border between what is recorded and what is drawn.
#![allow(
    clippy::float_arithmetic,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "a curve is drawn from exact weights, never the other way round"
)]

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive as _;
use time::{Duration, OffsetDateTime};

use super::fit::{Point, Track};
use super::forecast::Weighed;
use crate::measure::Percent;
use crate::standards::drying;

const DAY: f64 = 86_400.0;

/// The points of a piece. From where something was cut off it, its weight says nothing of drying any more: a weigh-in that
/// begins with another weight than the one before ended with ends the track.
pub fn track(piece: &Weighed) -> Track {
    let mut points = Track::with_capacity(piece.weighed.len());
    let mut last = None;
    for one in &piece.weighed {
        if last.is_some_and(|grams| grams != one.before) {
            break;
        }
        last = Some(one.grams);
        let Ok(change) = drying::change(piece.green, one.grams) else { continue };
        let loss = share(change.loss_percent());
        points.push(Point { days: days(piece.green_at, one.at), loss });
    }
    points.retain(|point| point.days > 0.0);
    points
}

pub fn days(from: OffsetDateTime, at: OffsetDateTime) -> f64 {
    (at - from).as_seconds_f64() / DAY
}

/// The moment so many days after another; the calendar's end where it lies beyond.
pub fn moment(from: OffsetDateTime, days: f64) -> OffsetDateTime {
    from.checked_add(Duration::seconds((days * DAY) as i64)).unwrap_or(from)
}

pub fn share(percent: Percent) -> f64 {
    percent.fraction().to_f64().unwrap_or_default()
}

/// A share as per cent to the hundredth, for drawing.
pub fn percent(share: f64) -> Decimal {
    Decimal::from_f64_retain(share * 100.0).unwrap_or_default().round_dp(2)
}

/// A figure of a curve, as it is said.
pub fn said(figure: f64, places: usize) -> String {
    format!("{figure:.places$}")
}
