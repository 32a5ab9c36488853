//! Where things stand on a chart of the air: per cent of the plot, counted from the left and from the top.

use std::fmt::Write as _;

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use crate::loggers::Bucket;
use crate::web::parts::Tick;
use crate::web::{Me, ledger};

/// The span that is drawn.
pub struct Frame<'a> {
    pub me: &'a Me,
    pub since: OffsetDateTime,
    pub until: OffsetDateTime,
    pub days: i64,
}

impl Frame<'_> {
    pub fn across(&self, at: OffsetDateTime) -> Decimal {
        let whole = Decimal::from((self.until - self.since).whole_seconds().max(1));
        let part = Decimal::from((at - self.since).whole_seconds());
        (part * Decimal::ONE_HUNDRED / whole)
            .clamp(Decimal::ZERO, Decimal::ONE_HUNDRED)
            .round_dp(2)
            .normalize()
    }

    /// "24 hours", "30 days"
    pub fn said(&self) -> String {
        if self.days == 1 { "24 hours".into() } else { format!("{} days", self.days) }
    }

    /// Five moments along the bottom, of which a phone shows three.
    pub fn xs(&self) -> Vec<Tick> {
        let quarter = (self.until - self.since) / 4;
        (0..=4)
            .map(|n| {
                let at = self.since + quarter * n;
                let name = if self.days == 1 { ledger::time(self.me, at) } else { ledger::day(self.me, at) };
                Tick { at: self.across(at).to_string(), name, lesser: n % 2 == 1 }
            })
            .collect()
    }

    /// A silence longer than this is a gap and not a line: a reading by hand every morning is none.
    fn gap(&self) -> Duration {
        Duration::hours(26).max(Duration::hours(self.days * 24 / 30))
    }
}

/// The middle of what was measured in a stretch.
pub fn middle(one: &Bucket) -> OffsetDateTime {
    one.first + (one.last - one.first) / 2
}

/// Stretches that follow each other without a gap.
fn runs<'a>(frame: &Frame, buckets: &'a [Bucket]) -> impl Iterator<Item = &'a [Bucket]> {
    let gap = frame.gap();
    buckets.chunk_by(move |a, b| b.first - a.last <= gap)
}

/// The path through the stretches.
pub fn line(frame: &Frame, buckets: &[Bucket], y: impl Fn(&Bucket) -> Decimal) -> String {
    let mut path = String::new();
    for run in runs(frame, buckets) {
        for (n, one) in run.iter().enumerate() {
            let sign = if n == 0 { 'M' } else { 'L' };
            // Writing into a String does not fail.
            let _ = write!(path, "{sign}{} {}", frame.across(middle(one)), y(one));
        }
    }
    path
}

/// The band from the least to the most of each stretch.
pub fn band(frame: &Frame, buckets: &[Bucket], ys: impl Fn(&Bucket) -> (Decimal, Decimal)) -> String {
    let mut path = String::new();
    for run in runs(frame, buckets).filter(|run| run.len() > 1) {
        let along = run.iter().map(|one| (frame.across(middle(one)), ys(one).1));
        let back = run.iter().rev().map(|one| (frame.across(middle(one)), ys(one).0));
        for (n, (x, y)) in along.chain(back).enumerate() {
            let sign = if n == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{sign}{x} {y}");
        }
        path.push('Z');
    }
    path
}

/// A block over the whole width.
pub fn block(top: Decimal, bottom: Decimal) -> String {
    format!("M0 {top}L100 {top}L100 {bottom}L0 {bottom}Z")
}

/// Whole figures around what is drawn, at least two apart.
pub fn span(values: impl Iterator<Item = Decimal> + Clone) -> (Decimal, Decimal) {
    let low = values.clone().min().unwrap_or_default().floor();
    let high = values.max().unwrap_or_default().ceil();
    if high - low < Decimal::TWO { (low - Decimal::ONE, low + Decimal::ONE) } else { (low, high) }
}

pub fn down(low: Decimal, high: Decimal, value: Decimal) -> Decimal {
    ((high - value) * Decimal::ONE_HUNDRED / (high - low)).round_dp(2).normalize()
}

/// The scale: its ends and its middle.
pub fn ys(low: Decimal, high: Decimal) -> Vec<Tick> {
    let step = (high - low) / Decimal::TWO;
    [low, low + step, high]
        .iter()
        .map(|value| Tick {
            at: down(low, high, *value).to_string(),
            name: value.round_dp(1).normalize().to_string().replace('-', "\u{2212}"),
            lesser: false,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    #[test]
    fn a_chamber_that_never_changed_still_has_a_scale() {
        assert_eq!(span([dec!(12.4), dec!(12.4)].into_iter()), (dec!(11), dec!(13)));
        assert_eq!(span([dec!(3), dec!(3)].into_iter()), (dec!(2), dec!(4)));
        assert_eq!(span([dec!(74.5), dec!(81.2)].into_iter()), (dec!(74), dec!(82)));
    }

    #[test]
    fn the_highest_value_stands_on_top() {
        assert_eq!(down(dec!(0), dec!(10), dec!(10)), dec!(0));
        assert_eq!(down(dec!(0), dec!(10), dec!(2.5)), dec!(75));
        assert_eq!(block(dec!(10), dec!(90)), "M0 10L100 10L100 90L0 90Z");
    }
}
