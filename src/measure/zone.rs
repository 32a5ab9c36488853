//! The shop's time zone: the one place that turns an instant into the shop's day and back.
//!
//! The IANA Time Zone Database is in the program, so that a machine without one, or with an old one, makes no difference.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::str::FromStr;
use std::sync::LazyLock;

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::{Offset, TimeZone, TimeZoneDatabase};
use time::{Date, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

use super::day::DayError;
use super::stored::text_column;

/// Names that people choose from: an area and a place. Old names without an area (`GB`, `EST5EDT`) are left out.
static NAMES: LazyLock<Vec<String>> = LazyLock::new(|| {
    let areas = [
        "Africa",
        "America",
        "Antarctica",
        "Arctic",
        "Asia",
        "Atlantic",
        "Australia",
        "Europe",
        "Indian",
        "Pacific",
    ];
    let is_place = |name: &str| name.split_once('/').is_some_and(|(area, _)| areas.contains(&area));
    let mut names: Vec<String> = TimeZoneDatabase::bundled()
        .available()
        .map(|name| name.as_str().to_owned())
        .filter(|name| name == "UTC" || is_place(name))
        .collect();
    names.sort();
    names.dedup();
    names
});

/// Zone names, sorted, for a list to choose from.
pub fn zone_names() -> Vec<&'static str> {
    NAMES.iter().map(String::as_str).collect()
}

/// A zone of the IANA Time Zone Database, such as Europe/London. Stored by its name.
#[derive(Clone)]
pub struct ShopZone {
    name: String,
    zone: TimeZone,
}

text_column!(ShopZone);

impl ShopZone {
    /// Finds a zone by its name, in any case.
    pub fn parse(name: &str) -> Result<Self, DayError> {
        let name = name.trim();
        let unknown = || DayError::NotAZone(name.chars().take(40).collect());
        let zone = TimeZoneDatabase::bundled().get(name).map_err(|_| unknown())?;
        if zone.is_unknown() {
            return Err(unknown());
        }
        let name = zone.iana_name().ok_or_else(unknown)?.to_owned();
        Ok(Self { name, zone })
    }

    /// Coordinated Universal Time.
    pub fn utc() -> Self {
        Self { name: "UTC".to_owned(), zone: TimeZone::UTC }
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What the clock on the shop's wall showed at an instant.
    pub fn local(&self, at: OffsetDateTime) -> PrimitiveDateTime {
        let seconds = Timestamp::from_second(at.unix_timestamp())
            .map_or(0, |timestamp| self.zone.to_offset(timestamp).seconds());
        let offset = UtcOffset::from_whole_seconds(seconds).unwrap_or(UtcOffset::UTC);
        // Only an instant at the very ends of the calendar has no local time; it stays in UTC.
        let local = at.checked_to_offset(offset).unwrap_or(at);
        PrimitiveDateTime::new(local.date(), local.time())
    }

    /// The shop's day at an instant.
    pub fn date(&self, at: OffsetDateTime) -> Date {
        self.local(at).date()
    }

    /// The instant, in UTC, at which the shop's clock showed a time.
    ///
    /// When clocks go back and a time comes twice, it is the first of the two. When they go forward and a time is left
    /// out, it is as long after the change as the clock would have shown: 01:30 left out is 02:30. (RFC 5545,
    /// section 3.3.5, has the same two answers.) Refused only at the ends of the calendar.
    pub fn instant(&self, local: PrimitiveDateTime) -> Result<OffsetDateTime, DayError> {
        let offset = self.offset_of(local).ok_or(DayError::FarAway)?;
        local
            .assume_utc()
            .checked_sub(time::Duration::seconds(i64::from(offset.seconds())))
            .ok_or(DayError::FarAway)
    }

    /// The offset that holds at a local time; before the change where it comes twice or is left out.
    fn offset_of(&self, local: PrimitiveDateTime) -> Option<Offset> {
        let civil = DateTime::new(
            i16::try_from(local.year()).ok()?,
            i8::try_from(u8::from(local.month())).ok()?,
            i8::try_from(local.day()).ok()?,
            i8::try_from(local.hour()).ok()?,
            i8::try_from(local.minute()).ok()?,
            i8::try_from(local.second()).ok()?,
            0,
        )
        .ok()?;
        let seconds = self.zone.to_ambiguous_timestamp(civil).compatible().ok()?.as_second();
        let shown = local.assume_utc().unix_timestamp();
        Offset::from_seconds(i32::try_from(shown - seconds).ok()?).ok()
    }

    /// The first instant of the shop's day, in UTC: midnight, or the end of the gap where clocks go forward at midnight.
    pub fn start_of(&self, day: Date) -> OffsetDateTime {
        let midnight = PrimitiveDateTime::new(day, Time::MIDNIGHT);
        self.instant(midnight).unwrap_or_else(|_| midnight.assume_utc())
    }
}

impl fmt::Display for ShopZone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

impl fmt::Debug for ShopZone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("ShopZone").field(&self.name).finish()
    }
}

impl FromStr for ShopZone {
    type Err = DayError;

    fn from_str(name: &str) -> Result<Self, DayError> {
        Self::parse(name)
    }
}

/// Two zones are one when their names are.
impl PartialEq for ShopZone {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl Eq for ShopZone {}

impl PartialOrd for ShopZone {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for ShopZone {
    fn cmp(&self, other: &Self) -> Ordering {
        self.name.cmp(&other.name)
    }
}

impl Hash for ShopZone {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.name.hash(state);
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use time::macros::{date, datetime};

    use super::*;

    fn zone(name: &str) -> ShopZone {
        ShopZone::parse(name).unwrap()
    }

    #[test]
    fn the_shops_day_is_not_utcs() {
        let london = zone("Europe/London");
        assert_eq!(london.local(datetime!(2026-11-24 09:42 UTC)), datetime!(2026-11-24 09:42));
        assert_eq!(london.local(datetime!(2026-07-01 23:30 UTC)), datetime!(2026-07-02 00:30));
        assert_eq!(london.date(datetime!(2026-07-01 23:30 UTC)), date!(2026 - 07 - 02));
        assert_eq!(zone("America/New_York").date(datetime!(2026-11-24 03:00 UTC)), date!(2026 - 11 - 23));
        assert_eq!(london.local(datetime!(2026-07-01 12:00 +5)), datetime!(2026-07-01 08:00));
    }

    #[test]
    fn a_time_that_comes_twice_is_the_first_and_one_left_out_is_moved_on() {
        // Summer Time Order 2002 (UK): in 2026 clocks go forward on 29 March and back on 25 October, at 01:00 UTC.
        let london = zone("Europe/London");
        assert_eq!(london.instant(datetime!(2026-03-29 01:30)), Ok(datetime!(2026-03-29 01:30 UTC)));
        assert_eq!(london.local(datetime!(2026-03-29 01:30 UTC)), datetime!(2026-03-29 02:30));
        assert_eq!(london.instant(datetime!(2026-10-25 01:30)), Ok(datetime!(2026-10-25 00:30 UTC)));
        assert_eq!(london.instant(datetime!(2026-10-25 02:30)), Ok(datetime!(2026-10-25 02:30 UTC)));
    }

    #[test]
    fn a_day_starts_at_its_first_instant() {
        assert_eq!(zone("Europe/London").start_of(date!(2026 - 07 - 02)), datetime!(2026-07-01 23:00 UTC));
        // Beirut's clocks go forward at midnight: that day starts at 01:00 there (IANA Time Zone Database, Asia).
        let beirut = zone("Asia/Beirut");
        let start = beirut.start_of(date!(2026 - 03 - 29));
        assert_eq!(beirut.local(start), datetime!(2026-03-29 01:00));
        assert_eq!(beirut.date(start - time::Duration::SECOND), date!(2026 - 03 - 28));
    }

    #[test]
    fn a_zone_is_found_by_its_name_only() {
        assert_eq!(zone(" europe/london ").name(), "Europe/London");
        assert_eq!(zone("utc"), ShopZone::utc());
        for bad in ["", "London", "Etc/Unknown", "../etc/passwd", "GMT+25"] {
            assert!(ShopZone::parse(bad).is_err(), "{bad}");
        }
        assert_eq!(serde_json::to_string(&zone("Asia/Tokyo")).unwrap(), "\"Asia/Tokyo\"");
        assert!(serde_json::from_str::<ShopZone>("\"asia/tokyo\"").is_err());
    }

    #[test]
    fn every_zone_in_the_list_can_be_chosen() {
        let names = zone_names();
        assert!(names.len() > 300 && names.is_sorted());
        for name in names {
            assert_eq!(ShopZone::parse(name).unwrap().name(), name);
        }
    }

    #[test]
    fn the_ends_of_the_calendar_do_no_harm() {
        let tokyo = zone("Asia/Tokyo");
        for at in [PrimitiveDateTime::MIN, PrimitiveDateTime::MAX] {
            let _ = (tokyo.instant(at), tokyo.local(at.assume_utc()), tokyo.start_of(at.date()));
        }
    }

    proptest! {
        #[test]
        fn an_instant_comes_back_from_the_wall_clock(
            seconds in 946_684_800_i64..4_102_444_800,
            name in prop::sample::select(vec!["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"]),
        ) {
            let zone = zone(name);
            let at = OffsetDateTime::from_unix_timestamp(seconds).unwrap();
            let back = zone.instant(zone.local(at)).unwrap();
            // The same instant, or the first of two that the clock shows alike.
            prop_assert_eq!(zone.local(back), zone.local(at));
            prop_assert!(back <= at);
            prop_assert!(zone.start_of(zone.date(at)) <= at);
        }
    }
}
