//! Temperatures over a span of time, held against a limit. Between two readings the temperature is taken to move in a
//! straight line; across a gap that is longer than the shop allows, and before the first and after the last reading, it is
//! taken to have been the worst of the readings beside it. Nothing is rounded: a minute counts to the fraction at which
//! the line crosses the limit. Source: arithmetic (piecewise linear), common practice for records of temperature.

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use crate::measure::Celsius;

/// A temperature that somebody or a logger measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    pub at: OffsetDateTime,
    pub value: Celsius,
}

/// Which side of the limit counts against it. Exactly at the limit is within it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Above,
    Below,
}

/// A span of time and what was measured in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Log {
    from: OffsetDateTime,
    to: OffsetDateTime,
    samples: Vec<Sample>,
    gap: Duration,
}

/// A stretch of time in which nothing was measured for longer than the shop allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    pub from: OffsetDateTime,
    pub to: OffsetDateTime,
}

impl Gap {
    /// Whole hours of it.
    pub fn hours(self) -> i64 {
        (self.to - self.from).whole_hours()
    }

    /// `26 h`, `24 h 30 min`: never the same words as the time that was allowed.
    pub fn words(self) -> String {
        let minutes = (self.to - self.from).whole_minutes() % 60;
        if minutes == 0 { format!("{} h", self.hours()) } else { format!("{} h {minutes} min", self.hours()) }
    }
}

/// How long it was beyond a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beyond {
    /// Minutes beyond the limit, all together.
    pub minutes: Decimal,
    /// The longest stretch beyond it without a break, in minutes.
    pub longest: Decimal,
    /// Minutes within the limit, all together.
    pub within: Decimal,
    /// The longest stretch within it without a break, in minutes.
    pub longest_within: Decimal,
}

impl Log {
    /// Readings outside the span are left out. `gap` is the longest time between readings that the shop allows. A span that
    /// ends before it begins is empty.
    pub fn new(from: OffsetDateTime, to: OffsetDateTime, mut samples: Vec<Sample>, gap: Duration) -> Self {
        let to = to.max(from);
        samples.retain(|sample| (from..=to).contains(&sample.at));
        samples.sort_by_key(|sample| sample.at);
        Self { from, to, samples, gap }
    }

    pub fn from(&self) -> OffsetDateTime {
        self.from
    }

    pub fn to(&self) -> OffsetDateTime {
        self.to
    }

    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// How long the span is, in minutes.
    pub fn minutes(&self) -> Decimal {
        minutes(self.to - self.from)
    }

    pub fn warmest(&self) -> Option<Sample> {
        // Of equals the first.
        self.samples.iter().rev().max_by_key(|sample| sample.value).copied()
    }

    pub fn coldest(&self) -> Option<Sample> {
        self.samples.iter().min_by_key(|sample| sample.value).copied()
    }

    /// Every stretch without a reading that is longer than the shop allows, the ones at both ends included.
    pub fn gaps(&self) -> Vec<Gap> {
        let moments = self.samples.iter().map(|sample| sample.at);
        let mut before = self.from;
        let mut gaps = Vec::new();
        for at in moments.chain([self.to]) {
            if at - before > self.gap {
                gaps.push(Gap { from: before, to: at });
            }
            before = at;
        }
        gaps
    }

    /// The longest of [`Self::gaps`].
    pub fn longest_gap(&self) -> Option<Gap> {
        self.gaps().into_iter().rev().max_by_key(|gap| gap.to - gap.from)
    }

    /// How long it was beyond `limit` on `side`. Nothing when nothing was measured.
    pub fn beyond(&self, side: Side, limit: Celsius) -> Option<Beyond> {
        // Turned round, below is above.
        let over = |value: Celsius| match side {
            Side::Above => value.decimal() - limit.decimal(),
            Side::Below => limit.decimal() - value.decimal(),
        };
        let (first, last) = (self.samples.first()?, self.samples.last()?);
        let mut sum = Sum::default();
        sum.straight(minutes(first.at - self.from), over(first.value), over(first.value));
        for pair in self.samples.windows(2) {
            let (a, b) = (over(pair[0].value), over(pair[1].value));
            let long = pair[1].at - pair[0].at;
            if long > self.gap {
                let worst = a.max(b);
                sum.straight(minutes(long), worst, worst);
            } else {
                sum.straight(minutes(long), a, b);
            }
        }
        sum.straight(minutes(self.to - last.at), over(last.value), over(last.value));
        Some(sum.done())
    }

    /// Minutes at or above `limit`, all together.
    pub fn at_least(&self, limit: Celsius) -> Option<Decimal> {
        self.beyond(Side::Below, limit).map(|beyond| beyond.within)
    }

    /// The longest stretch at or above `limit`, in minutes.
    pub fn longest_at_least(&self, limit: Celsius) -> Option<Decimal> {
        self.beyond(Side::Below, limit).map(|beyond| beyond.longest_within)
    }

    /// The longest stretch at or below `limit`, in minutes.
    pub fn longest_at_most(&self, limit: Celsius) -> Option<Decimal> {
        self.beyond(Side::Above, limit).map(|beyond| beyond.longest_within)
    }
}

/// Minutes in a length of time, to the millisecond.
pub fn minutes(long: Duration) -> Decimal {
    let milliseconds = i64::try_from(long.whole_milliseconds()).unwrap_or(i64::MAX);
    Decimal::from(milliseconds) / Decimal::from(60_000)
}

/// Stretches on either side of the limit as they come, the last one still open.
#[derive(Debug, Default)]
struct Sum {
    beyond: Decimal,
    longest: Decimal,
    within: Decimal,
    longest_within: Decimal,
    open: Decimal,
    open_is_beyond: bool,
}

impl Sum {
    /// So many minutes in a straight line from `a` to `b`, which are above zero where they are beyond the limit.
    fn straight(&mut self, long: Decimal, a: Decimal, b: Decimal) {
        let zero = Decimal::ZERO;
        if (a > zero) == (b > zero) {
            self.piece(long, a > zero);
            return;
        }
        // Where the line crosses the limit; a and b differ, since one is above zero and the other is not.
        let first = long * a.abs() / (a.abs() + b.abs());
        self.piece(first, a > zero);
        self.piece(long - first, b > zero);
    }

    fn piece(&mut self, long: Decimal, beyond: bool) {
        if long.is_zero() {
            return;
        }
        if beyond != self.open_is_beyond {
            self.close();
            self.open_is_beyond = beyond;
        }
        self.open += long;
    }

    fn close(&mut self) {
        let (all, longest) = if self.open_is_beyond {
            (&mut self.beyond, &mut self.longest)
        } else {
            (&mut self.within, &mut self.longest_within)
        };
        *all += self.open;
        *longest = self.open.max(*longest);
        self.open = Decimal::ZERO;
    }

    fn done(mut self) -> Beyond {
        self.close();
        Beyond {
            minutes: self.beyond,
            longest: self.longest,
            within: self.within,
            longest_within: self.longest_within,
        }
    }
}

#[cfg(test)]
mod tests;
