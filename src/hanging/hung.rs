//! A piece as it hangs: how far along it is, and when it is due on the scale.

use time::{Date, Duration, OffsetDateTime};

use crate::ids::{BatchId, LotId, PlaceId};
use crate::measure::{Grams, LotCode, Percent};
use crate::standards::{Change, drying};

/// A piece of a batch that is still in the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hung {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    /// On hand.
    pub grams: Grams,
    pub place: Option<PlaceId>,
    pub place_name: Option<String>,
    pub hook: Option<String>,
    /// Why it is on hold, while it is.
    pub held: Option<String>,
    pub batch: BatchId,
    pub batch_code: LotCode,
    /// In the words of `batch.stage`.
    pub stage: String,
    pub stage_at: OffsetDateTime,
    pub green: Grams,
    pub green_at: OffsetDateTime,
    pub target_loss: Option<Percent>,
    /// Days between weigh-ins while it hangs.
    pub weigh_every: Option<i16>,
    pub released: bool,
    pub last_grams: Option<Grams>,
    pub last_at: Option<OffsetDateTime>,
}

/// How a loss stands against its target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Loss {
    /// Per cent of green weight; a gain is below zero.
    pub percent: Percent,
    pub target: Option<Percent>,
}

impl Loss {
    /// Whether the target is reached; never where there is none.
    pub fn reached(self) -> bool {
        self.target.is_some_and(|target| self.percent >= target)
    }
}

impl Hung {
    /// What it had lost of its green weight when it was weighed in last; nothing until then. What was cut off it since is
    /// no loss.
    pub fn loss(&self) -> Loss {
        let percent = self.last_grams.and_then(|last| drying::change(self.green, last).ok());
        Loss { percent: percent.map_or(Percent::ZERO, Change::loss_percent), target: self.target_loss }
    }

    /// What it weighs when the target is reached.
    pub fn target_weight(&self) -> Option<Grams> {
        drying::target_weight(self.green, self.target_loss?).ok()
    }

    /// Where it hangs, in words.
    pub fn where_it_is(&self) -> String {
        let place = self.place_name.clone().unwrap_or_else(|| "no place".to_owned());
        match &self.hook {
            Some(hook) => format!("{place}, hook {hook}"),
            None => place,
        }
    }

    /// The day on which it is due on the scale: so many days after the last weigh-in, or after its stage began. While it
    /// lies in cure and once it is released nobody waits for its weight.
    pub fn due_on(&self, day_of: impl Fn(OffsetDateTime) -> Date) -> Option<Date> {
        let hangs = matches!(self.stage.as_str(), "fermenting" | "drying" | "holding");
        if self.released || !hangs {
            return None;
        }
        let every = Duration::days(i64::from(self.weigh_every?));
        day_of(self.last_at.unwrap_or(self.stage_at)).checked_add(every)
    }

    /// Whole days since it was green, on the shop's calendar.
    pub fn days(&self, today: Date, day_of: impl Fn(OffsetDateTime) -> Date) -> i64 {
        (today - day_of(self.green_at)).whole_days()
    }
}

#[cfg(test)]
pub(super) mod tests {
    use rust_decimal::dec;
    use time::macros::{date, datetime};
    use uuid::Uuid;

    use super::*;

    pub fn loin() -> Hung {
        Hung {
            lot: LotId(Uuid::from_u128(1)),
            code: "26301-01.03".parse().expect("a code"),
            item_name: "loin, dry cured".into(),
            grams: Grams::whole(1_742),
            place: None,
            place_name: Some("rail B".into()),
            hook: Some("14".into()),
            held: None,
            batch: BatchId(Uuid::from_u128(2)),
            batch_code: "26301-01".parse().expect("a code"),
            stage: "drying".into(),
            stage_at: datetime!(2026-11-15 08:00 UTC),
            green: Grams::whole(2_460),
            green_at: datetime!(2026-10-28 09:00 UTC),
            target_loss: Some(Percent::new(dec!(35))),
            weigh_every: Some(7),
            released: false,
            last_grams: Some(Grams::whole(1_742)),
            last_at: Some(datetime!(2026-11-25 07:20 UTC)),
        }
    }

    fn day(at: OffsetDateTime) -> Date {
        at.date()
    }

    #[test]
    fn a_loin_weighed_every_seven_days_is_due_a_week_after_the_last_time() {
        assert_eq!(loin().due_on(day), Some(date!(2026 - 12 - 02)));
        let never = Hung { last_at: None, last_grams: None, ..loin() };
        assert_eq!(never.due_on(day), Some(date!(2026 - 11 - 22)));
    }

    #[test]
    fn in_cure_after_release_and_without_an_interval_nothing_is_due() {
        for other in [
            Hung { stage: "curing".into(), ..loin() },
            Hung { released: true, ..loin() },
            Hung { weigh_every: None, ..loin() },
        ] {
            assert_eq!(other.due_on(day), None);
        }
    }

    #[test]
    fn a_slice_cut_off_a_piece_is_no_drying_loss() {
        let sliced = Hung { grams: Grams::whole(900), ..loin() };
        assert_eq!(sliced.loss().percent.text(), "29.2 %");
        assert!(!sliced.loss().reached());
    }

    #[test]
    fn the_target_is_reached_at_it_and_never_where_there_is_none() {
        let at = Hung { last_grams: Some(Grams::whole(1_599)), ..loin() };
        assert_eq!(at.target_weight(), Some(Grams::whole(1_599)));
        assert!(at.loss().reached());
        assert!(!Hung { target_loss: None, ..at }.loss().reached());
    }

    #[test]
    fn a_piece_that_nobody_has_weighed_has_lost_nothing_yet() {
        let fresh = Hung { last_grams: None, last_at: None, grams: Grams::whole(2_520), ..loin() };
        assert_eq!(fresh.loss().percent, Percent::ZERO);
    }
}
