//! The chamber's temperature over time, from readings, and what it adds up to.

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

/// What a division leaves beyond this many decimals is the division's, not the chamber's: far below any reading.
const PLACES: u32 = 12;
const MICROSECONDS_AN_HOUR: i64 = 3_600_000_000;

/// A temperature that was read at a moment, in the rule set's scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Knot {
    pub at: OffsetDateTime,
    pub degrees: Decimal,
}

/// Some time in one place, with what was read there. Readings shortly before and after help to know its ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    pub from: OffsetDateTime,
    pub to: OffsetDateTime,
    pub knots: Vec<Knot>,
}

/// A straight line of temperature between two moments.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Segment {
    pub from: OffsetDateTime,
    pub to: OffsetDateTime,
    pub first: Decimal,
    pub last: Decimal,
    /// Nothing was read for longer than the largest gap: the higher reading beside it counts for all of it.
    pub gap: bool,
}

/// A time of which nothing is known: no reading in the place, and too long to take the one beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unread {
    pub from: OffsetDateTime,
    pub to: OffsetDateTime,
}

/// What a temperature over time adds up to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warmth {
    pub degree_hours: Decimal,
    /// Hours above the critical temperature.
    pub hours_above: Decimal,
    /// The highest temperature.
    pub highest: Decimal,
}

/// The temperature along some stays, one after the other. `largest_gap`: readings further apart say nothing of the time
/// between them.
pub fn along(stays: &[Stay], largest_gap: Duration) -> (Vec<Segment>, Vec<Unread>) {
    let parts: Vec<Result<Vec<Segment>, Unread>> = stays
        .iter()
        .filter(|stay| stay.to > stay.from)
        .map(|stay| {
            let segments = within(stay, largest_gap);
            if segments.is_empty() { Err(Unread { from: stay.from, to: stay.to }) } else { Ok(segments) }
        })
        .collect();
    let beside = |at: usize| {
        let before = parts[..at].iter().rev().find_map(|part| part.as_ref().ok()?.last().map(|s| s.last));
        let after = parts[at + 1..].iter().find_map(|part| part.as_ref().ok()?.first().map(|s| s.first));
        before.max(after)
    };
    let mut segments = Vec::new();
    let mut unread = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        match part {
            Ok(known) => segments.extend(known.iter().copied()),
            Err(stay) => match beside(at).filter(|_| stay.to - stay.from <= largest_gap) {
                Some(degrees) => segments.push(level(stay.from, stay.to, degrees, true)),
                None => unread.push(*stay),
            },
        }
    }
    (segments, unread)
}

fn level(from: OffsetDateTime, to: OffsetDateTime, degrees: Decimal, gap: bool) -> Segment {
    Segment { from, to, first: degrees, last: degrees, gap }
}

/// The lines within one stay; none where nothing was read near it.
fn within(stay: &Stay, largest_gap: Duration) -> Vec<Segment> {
    let near = |knot: &&Knot| knot.at >= stay.from - largest_gap && knot.at <= stay.to + largest_gap;
    let mut knots: Vec<Knot> = stay.knots.iter().filter(near).copied().collect();
    // Of two readings at one moment the higher one counts: it comes first and the other is left out.
    knots.sort_by(|a, b| a.at.cmp(&b.at).then(b.degrees.cmp(&a.degrees)));
    knots.dedup_by_key(|knot| knot.at);
    let (Some(first), Some(last)) = (knots.first(), knots.last()) else { return Vec::new() };
    let mut lines = Vec::with_capacity(knots.len() + 1);
    if stay.from < first.at {
        lines.push(level(stay.from, first.at, first.degrees, first.at - stay.from > largest_gap));
    }
    for pair in knots.windows(2) {
        let [a, b] = pair else { continue };
        lines.push(if b.at - a.at > largest_gap {
            level(a.at, b.at, a.degrees.max(b.degrees), true)
        } else {
            Segment { from: a.at, to: b.at, first: a.degrees, last: b.degrees, gap: false }
        });
    }
    if last.at < stay.to {
        lines.push(level(last.at, stay.to, last.degrees, stay.to - last.at > largest_gap));
    }
    lines.into_iter().filter_map(|line| line.cut(stay.from, stay.to)).collect()
}

fn microseconds(span: Duration) -> Decimal {
    Decimal::from(i64::try_from(span.whole_microseconds()).unwrap_or(i64::MAX))
}

impl Segment {
    /// What of it lies between two moments.
    fn cut(self, from: OffsetDateTime, to: OffsetDateTime) -> Option<Self> {
        let (begin, end) = (self.from.max(from), self.to.min(to));
        (begin < end).then(|| Self {
            from: begin,
            to: end,
            first: self.at(begin),
            last: self.at(end),
            gap: self.gap,
        })
    }

    /// The temperature at a moment within it.
    pub fn at(&self, at: OffsetDateTime) -> Decimal {
        if at <= self.from {
            self.first
        } else if at >= self.to {
            self.last
        } else {
            let (done, whole) = (microseconds(at - self.from), microseconds(self.to - self.from));
            self.first + (self.last - self.first) * done / whole
        }
    }

    /// What it adds, in twice degrees times microseconds, and the microseconds above the base: both exact but where the
    /// line crosses the base.
    fn above(&self, base: Decimal) -> (Decimal, Decimal) {
        let span = microseconds(self.to - self.from);
        let (a, b) = (self.first - base, self.last - base);
        let (high, low) = (a.max(b), a.min(b));
        if high <= Decimal::ZERO {
            (Decimal::ZERO, Decimal::ZERO)
        } else if low >= Decimal::ZERO {
            ((a + b) * span, span)
        } else {
            let share = high / (high - low);
            (high * share * span, share * span)
        }
    }
}

/// Adds up the degrees above `base` over all segments. `None` where there are none.
pub fn warmth(segments: &[Segment], base: Decimal) -> Option<Warmth> {
    let highest = segments.iter().flat_map(|segment| [segment.first, segment.last]).max()?;
    let (twice, time) = segments.iter().fold((Decimal::ZERO, Decimal::ZERO), |(twice, time), segment| {
        let (more, longer) = segment.above(base);
        (twice + more, time + longer)
    });
    let hour = Decimal::from(MICROSECONDS_AN_HOUR);
    Some(Warmth {
        degree_hours: (twice / (hour + hour)).round_dp(PLACES).normalize(),
        hours_above: (time / hour).round_dp(PLACES).normalize(),
        highest: highest.round_dp(PLACES).normalize(),
    })
}
