//! Pieces that have stopped drying while the air is dry: the rim may have hardened and hold the water inside.
#![allow(clippy::float_arithmetic, reason = "what a weigh-in was expected to lose is read off a curve")]

use rust_decimal::{Decimal, dec};
use sqlx::PgConnection;

use super::fit;
use super::forecast::Weighed;
use super::{db, scale};
use crate::error::Result;
use crate::ids::{LotId, PlaceId};

/// Less than this share of the loss that its curve led one to expect is a stall.
const SHARE: f64 = 0.5;
/// An interval shorter than this, in days, shows the scale and not the drying.
const SHORTEST: f64 = 3.0;
/// Where less than this share of green weight was expected, nothing can be said.
const EXPECTED: f64 = 0.005;
/// Humidity below this is dry for a chamber, where no limit of the shop says otherwise, in %RH. Common practice: 70 to 80.
pub const USUAL_LEAST: Decimal = dec!(70);

/// A piece that has stopped drying in dry air.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stall {
    pub lot: LotId,
    pub code: String,
    /// What happened, and the rule.
    pub text: String,
}

/// What the last interval of a piece lost and was expected to lose, in shares of green weight, where it stalled.
pub fn stalled(points: &[fit::Point]) -> Option<(f64, f64)> {
    let (last, earlier) = points.split_last()?;
    let before = earlier.last()?;
    if last.days - before.days < SHORTEST {
        return None;
    }
    let curve = fit::choose(earlier, None)?.curve;
    let (lost, expected) = (last.loss - before.loss, curve.at(last.days) - curve.at(before.days));
    (expected >= EXPECTED && lost < expected * SHARE).then_some((lost, expected))
}

/// Those of these pieces that have stopped drying while their chamber was dry.
pub async fn stalls(conn: &mut PgConnection, lots: &[LotId]) -> Result<Vec<Stall>> {
    let pieces = db::weighed(conn, lots).await?;
    let mut slow: Vec<(&Weighed, PlaceId, f64, f64)> = Vec::new();
    for piece in pieces.iter().filter(|piece| piece.on_hand) {
        let points = scale::track(piece);
        if points.len() < piece.weighed.len() {
            continue;
        }
        if let (Some(place), Some((lost, expected))) = (piece.place, stalled(&points)) {
            slow.push((piece, place, lost, expected));
        }
    }
    if slow.is_empty() {
        return Ok(Vec::new());
    }
    let spans: Vec<_> = slow
        .iter()
        .filter_map(|(piece, place, ..)| match piece.weighed.as_slice() {
            [.., before, last] => Some((piece.lot, *place, before.at, last.at)),
            _ => None,
        })
        .collect();
    let air = db::air(conn, &spans).await?;
    let dry = |lot: LotId| {
        let air = air.iter().find(|air| air.lot == lot)?;
        let least = air.least.unwrap_or(USUAL_LEAST);
        let mean = air.mean.filter(|mean| *mean < least)?;
        Some((mean.normalize(), least.normalize()))
    };
    let stalls = slow.iter().filter_map(|(piece, _, lost, expected)| {
        let (mean, least) = dry(piece.lot)?;
        Some(Stall {
            lot: piece.lot,
            code: piece.code.to_string(),
            text: format!(
                "{} may be hardening at the rim: since the weigh-in before, it lost {} % of green weight where its curve \
                 led one to expect {} %, while the air was at {mean} %RH on average, under {least} %RH. The rule: less than half of \
                 what was expected, over 3 days or more, in air under the least humidity of the place, or under {USUAL_LEAST} %RH where no \
                 limit says so (common practice).",
                piece.code,
                scale::percent(*lost).round_dp(1).normalize(),
                scale::percent(*expected).round_dp(1).normalize(),
            ),
        })
    });
    Ok(stalls.collect())
}

#[cfg(test)]
mod tests {
    use super::super::fit::{Curve, Point};
    use super::*;

    fn weeks(last: f64) -> Vec<Point> {
        let curve = Curve::Levels { most: 0.40, rate: 0.03 };
        let mut points: Vec<Point> =
            [7.0, 14.0, 21.0, 28.0].map(|days| Point { days, loss: curve.at(days) }).to_vec();
        points.push(Point { days: 35.0, loss: curve.at(28.0) + last });
        points
    }

    #[test]
    fn a_piece_that_loses_less_than_half_of_what_its_curve_says_has_stalled() {
        let curve = Curve::Levels { most: 0.40, rate: 0.03 };
        let expected = curve.at(35.0) - curve.at(28.0);
        assert_eq!(stalled(&weeks(expected)), None);
        assert_eq!(stalled(&weeks(expected * 0.55)), None);
        assert!(stalled(&weeks(expected * 0.45)).is_some());
        assert!(stalled(&weeks(0.0)).is_some());
    }

    #[test]
    fn two_days_are_too_short_and_three_weigh_ins_too_few() {
        let mut short = weeks(0.0);
        if let Some(last) = short.last_mut() {
            last.days = 30.0;
        }
        assert_eq!(stalled(&short), None);
        assert_eq!(stalled(&weeks(0.0)[..3]), None);
    }
}
