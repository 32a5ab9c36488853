//! When a check is due, late and missed, from when it was made.
//!
//! A check that is asked for every so many hours is due that long after it was last made, or after it was first asked for. It is
//! late from then on, and missed when the time for the next one has come as well: whatever is made later, the one that was missed
//! is not made good. A check before work is due on each day with work, late from its hour on and missed when the day is over.

use time::{Date, Duration, OffsetDateTime};

/// How a check stands for one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stand {
    pub due_at: OffsetDateTime,
    /// Gaps that nothing was written of yet, the oldest first.
    pub missed: Vec<Gap>,
}

/// A time in which a check was not made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    pub from: OffsetDateTime,
    pub until: OffsetDateTime,
    /// How often it ought to have been made in between.
    pub times: u32,
    /// Whether it is over: the check was made again, or its day is past.
    pub over: bool,
}

/// How a check every `period` stands. `made` are the times when it was made, in order; `noted` is until when what was missed is
/// written.
pub fn periodic(
    period: Duration,
    since: OffsetDateTime,
    made: &[OffsetDateTime],
    noted: Option<OffsetDateTime>,
    now: OffsetDateTime,
) -> Stand {
    let start = noted.map_or(since, |noted| noted.max(since));
    let mut last = start;
    let mut missed = Vec::new();
    for at in made.iter().copied().filter(|at| *at > start && *at <= now) {
        missed.extend(gap(period, last, at, true));
        last = at;
    }
    missed.extend(gap(period, last, now, false));
    Stand { due_at: last + period, missed }
}

fn gap(period: Duration, from: OffsetDateTime, until: OffsetDateTime, over: bool) -> Option<Gap> {
    let whole = (until - from).whole_seconds() / period.whole_seconds().max(1);
    let times = u32::try_from(whole - 1).ok().filter(|times| *times > 0)?;
    Some(Gap { from, until, times, over })
}

/// How a check that is made once in a stage stands; `None` when it was made, or written down as missed. It is due as soon as the
/// stage begins, and missed when the stage is left without it.
pub fn once(
    since: OffsetDateTime,
    until: Option<OffsetDateTime>,
    made: &[OffsetDateTime],
    noted: Option<OffsetDateTime>,
) -> Option<Stand> {
    let done = made.iter().any(|at| *at >= since && until.is_none_or(|until| *at <= until));
    let written = until.is_some_and(|until| noted.is_some_and(|noted| noted >= until));
    if done || written {
        return None;
    }
    let missed = until.map(|until| Gap { from: since, until, times: 1, over: true });
    Some(Stand { due_at: since, missed: missed.into_iter().collect() })
}

/// How a check before work stands. `days` are the days with work since it was asked for, in order, today among them where there is
/// work; `made` the days on which it was made; `opens` and `closes` say when a day's check is due, late, and missed.
pub fn before_work(
    days: &[Date],
    made: &[Date],
    today: Date,
    due_at: impl Fn(Date) -> OffsetDateTime,
    ends: impl Fn(Date) -> OffsetDateTime,
) -> Stand {
    let missed = days.iter().filter(|day| **day < today && !made.contains(day)).map(|day| Gap {
        from: due_at(*day),
        until: ends(*day),
        times: 1,
        over: true,
    });
    let next = if made.contains(&today) { today + Duration::days(1) } else { today };
    Stand { due_at: due_at(next), missed: missed.collect() }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use time::macros::datetime;

    use super::*;

    const START: OffsetDateTime = datetime!(2026-11-02 06:00 UTC);

    fn at(hours: i64) -> OffsetDateTime {
        START + Duration::hours(hours)
    }

    fn stand(made: &[i64], noted: Option<i64>, now: i64) -> Stand {
        let made: Vec<_> = made.iter().map(|hours| at(*hours)).collect();
        periodic(Duration::hours(12), START, &made, noted.map(at), at(now))
    }

    #[test]
    fn a_check_that_was_never_made_is_due_one_period_after_it_was_asked_for() {
        assert_eq!(stand(&[], None, 3), Stand { due_at: at(12), missed: vec![] });
    }

    #[test]
    fn a_late_check_is_no_missed_one_until_the_next_is_due_as_well() {
        assert_eq!(stand(&[0, 12], None, 35).missed, []);
        assert_eq!(
            stand(&[0, 12], None, 36).missed,
            [Gap { from: at(12), until: at(36), times: 1, over: false }]
        );
    }

    #[test]
    fn a_gap_stays_missed_after_the_check_is_made_again() {
        let stand = stand(&[0, 40, 50], None, 51);
        assert_eq!(stand.missed, [Gap { from: at(0), until: at(40), times: 2, over: true }]);
        assert_eq!(stand.due_at, at(62));
    }

    #[test]
    fn what_is_written_down_is_not_asked_for_again() {
        assert_eq!(stand(&[0, 40, 50], Some(40), 51).missed, []);
        assert_eq!(stand(&[0], Some(40), 41), Stand { due_at: at(52), missed: vec![] });
    }

    #[test]
    fn a_stage_that_is_left_without_its_check_has_missed_it_once() {
        assert_eq!(once(at(0), None, &[], None), Some(Stand { due_at: at(0), missed: vec![] }));
        let missed = once(at(0), Some(at(48)), &[at(49)], None).expect("made only after it was left");
        assert_eq!(missed.missed, [Gap { from: at(0), until: at(48), times: 1, over: true }]);
        assert_eq!(once(at(0), Some(at(48)), &[at(48)], None), None, "made as it was left");
        assert_eq!(once(at(0), Some(at(48)), &[], Some(at(48))), None, "written down already");
    }

    #[test]
    fn a_day_without_work_asks_for_nothing() {
        let day = |n: i64| START.date() + Duration::days(n);
        let due = |day: Date| day.midnight().assume_utc() + Duration::hours(7);
        let ends = |day: Date| (day + Duration::days(1)).midnight().assume_utc();
        let stand = before_work(&[day(0), day(2), day(3)], &[day(0)], day(3), due, ends);
        assert_eq!(stand.missed, [Gap { from: due(day(2)), until: ends(day(2)), times: 1, over: true }]);
        assert_eq!(stand.due_at, due(day(3)));
    }

    proptest! {
        #[test]
        fn whoever_checks_in_time_misses_nothing(mut steps in prop::collection::vec(1_i64..=720, 1..40)) {
            let mut now = START;
            let made: Vec<_> = steps.drain(..).map(|minutes| { now += Duration::minutes(minutes); now }).collect();
            let stand = periodic(Duration::hours(12), START, &made, None, now);
            prop_assert!(stand.missed.is_empty());
            prop_assert_eq!(stand.due_at, now + Duration::hours(12));
        }

        #[test]
        fn noting_what_was_missed_leaves_nothing_missed(hours in prop::collection::btree_set(1_i64..500, 0..12), now in 500_i64..600) {
            let made: Vec<_> = hours.into_iter().map(at).collect();
            let first = periodic(Duration::hours(12), START, &made, None, at(now));
            let noted = first.missed.last().map(|gap| gap.until);
            let second = periodic(Duration::hours(12), START, &made, noted, at(now));
            prop_assert!(second.missed.is_empty());
        }
    }
}
