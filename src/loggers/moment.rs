//! The times that loggers write: which figure is the day, whether the offset stands beside them.

use serde::{Deserialize, Serialize};
use time::{Date, Month, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

/// In which order a date stands, or whether the time is counted in seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    YearFirst,
    DayFirst,
    MonthFirst,
    /// Seconds since the first of January 1970, UTC.
    Seconds,
}

impl Order {
    pub const ALL: [Self; 4] = [Self::YearFirst, Self::DayFirst, Self::MonthFirst, Self::Seconds];

    pub fn word(self) -> &'static str {
        match self {
            Self::YearFirst => "year-first",
            Self::DayFirst => "day-first",
            Self::MonthFirst => "month-first",
            Self::Seconds => "seconds",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::YearFirst => "year, month, day (2026-11-25)",
            Self::DayFirst => "day, month, year (25.11.2026)",
            Self::MonthFirst => "month, day, year (11/25/2026)",
            Self::Seconds => "seconds since 1970",
        }
    }

    /// Whether a cell can be a day, with or without a time of day, in this order.
    pub fn is_day(self, cell: &str) -> bool {
        self.read(cell).is_some() || self.read(&format!("{cell} 00:00")).is_some()
    }

    /// The time in a cell: the day, the time of day, and the offset where it stands there.
    pub fn read(self, cell: &str) -> Option<Moment> {
        let cell = cell.trim();
        if self == Self::Seconds {
            return seconds(cell);
        }
        let (day, rest) = cell.split_once([' ', 'T'])?;
        let date = date(self, day.trim_end_matches([',', ';']))?;
        let (clock, offset) = offset(rest.trim());
        Some(Moment { local: PrimitiveDateTime::new(date, clock_of(clock)?), offset: offset? })
    }
}

impl std::str::FromStr for Order {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|order| order.word() == text).ok_or(())
    }
}

/// A time as it stands in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    pub local: PrimitiveDateTime,
    /// Where the file says it.
    pub offset: Option<UtcOffset>,
}

/// Later than 2001 and before 2100, so that a temperature or a row's number is no time.
fn seconds(cell: &str) -> Option<Moment> {
    let counted: i64 = cell.parse().ok()?;
    let counted = if counted > 100_000_000_000 { counted / 1000 } else { counted };
    let at = OffsetDateTime::from_unix_timestamp(counted).ok()?;
    (1_000_000_000..4_102_444_800)
        .contains(&counted)
        .then(|| Moment { local: PrimitiveDateTime::new(at.date(), at.time()), offset: Some(UtcOffset::UTC) })
}

fn date(order: Order, text: &str) -> Option<Date> {
    let mut parts = text.split(['-', '/', '.']);
    let (a, b, c) = (parts.next()?, parts.next()?, parts.next()?);
    if parts.next().is_some() {
        return None;
    }
    let (year, month, day) = match order {
        Order::YearFirst => (a, b, c),
        Order::DayFirst => (c, b, a),
        Order::MonthFirst => (c, a, b),
        Order::Seconds => return None,
    };
    let century = match year.len() {
        4 => 0,
        2 if order != Order::YearFirst => 2000,
        _ => return None,
    };
    let month = Month::try_from(month.parse::<u8>().ok()?).ok()?;
    Date::from_calendar_date(year.parse::<i32>().ok()? + century, month, day.parse().ok()?).ok()
}

/// Cuts the offset off a time of day. The second is `None` where something stands there that is none.
fn offset(text: &str) -> (&str, Option<Option<UtcOffset>>) {
    if let Some(clock) = text.strip_suffix(['Z', 'z']).or_else(|| text.strip_suffix("UTC")) {
        return (clock.trim(), Some(Some(UtcOffset::UTC)));
    }
    let Some(at) = text.rfind(['+', '-']).filter(|at| *at >= 4) else { return (text, Some(None)) };
    let (clock, said) = text.split_at(at);
    let sign = if said.starts_with('-') { -1 } else { 1 };
    let digits: String = said.chars().filter(char::is_ascii_digit).collect();
    let read = |from: usize, to: usize| digits.get(from..to).and_then(|part| part.parse::<i8>().ok());
    let minutes = if digits.len() == 2 { Some(0) } else { read(2, 4) };
    let offset = read(0, 2).zip(minutes).and_then(|(h, m)| UtcOffset::from_hms(sign * h, sign * m, 0).ok());
    (clock.trim(), offset.map(Some))
}

/// `07:20`, `7:20:30`, `07:20:30.125`, `7:20 PM`; what is less than a second is left out.
fn clock_of(text: &str) -> Option<Time> {
    let lower = text.to_ascii_lowercase();
    let (half, clock) = match lower.strip_suffix("am").or_else(|| lower.strip_suffix("a.m.")) {
        Some(clock) => (Some(false), clock),
        None => match lower.strip_suffix("pm").or_else(|| lower.strip_suffix("p.m.")) {
            Some(clock) => (Some(true), clock),
            None => (None, lower.as_str()),
        },
    };
    let mut parts = clock.trim().split(':');
    let hour: u8 = parts.next()?.parse().ok()?;
    let minute = parts.next()?.parse().ok()?;
    let second = parts.next().unwrap_or("0");
    let second = second.split(['.', ',']).next()?.parse().ok()?;
    if parts.next().is_some() {
        return None;
    }
    let hour = match half {
        None => hour,
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(false) => hour % 12,
        Some(true) => hour % 12 + 12,
    };
    Time::from_hms(hour, minute, second).ok()
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn times_are_read_as_loggers_write_them() {
        let at = datetime!(2026-11-05 19:20:30);
        for (order, text) in [
            (Order::YearFirst, "2026-11-05 19:20:30"),
            (Order::YearFirst, "2026-11-05T19:20:30.125"),
            (Order::YearFirst, "2026/11/05 19:20:30"),
            (Order::DayFirst, "05.11.2026 19:20:30"),
            (Order::DayFirst, "5/11/26 19:20:30"),
            (Order::MonthFirst, "11/05/2026 7:20:30 PM"),
            (Order::MonthFirst, "11/5/2026, 07:20:30pm"),
        ] {
            assert_eq!(order.read(text), Some(Moment { local: at, offset: None }), "{text}");
        }
    }

    #[test]
    fn an_offset_in_the_file_is_kept() {
        let read = |text| Order::YearFirst.read(text).and_then(|moment| moment.offset);
        assert_eq!(read("2026-11-25T07:20:00Z"), Some(UtcOffset::UTC));
        assert_eq!(read("2026-11-25T07:20+01:00"), UtcOffset::from_hms(1, 0, 0).ok());
        assert_eq!(read("2026-11-25 07:20:00 -0530"), UtcOffset::from_hms(-5, -30, 0).ok());
        assert_eq!(Order::YearFirst.read("2026-11-25 07:20+x"), None);
    }

    #[test]
    fn noon_and_midnight_of_the_twelve_hour_clock_are_not_mixed_up() {
        assert_eq!(clock_of("12:00 am"), Some(Time::MIDNIGHT));
        assert_eq!(clock_of("12:00 pm"), Time::from_hms(12, 0, 0).ok());
        assert_eq!(clock_of("13:00 pm"), None);
        assert_eq!(clock_of("24:00"), None);
    }

    #[test]
    fn seconds_are_a_time_and_a_temperature_is_none() {
        let read = |text| Order::Seconds.read(text).map(|moment| moment.local);
        assert_eq!(read("1764055200"), Some(datetime!(2025-11-25 07:20)));
        assert_eq!(read("1764055200000"), Some(datetime!(2025-11-25 07:20)));
        assert_eq!(read("12"), None);
        assert_eq!(read("12.4"), None);
    }

    #[test]
    fn a_day_that_is_none_is_refused() {
        assert_eq!(Order::DayFirst.read("31.02.2026 07:20"), None);
        assert_eq!(Order::MonthFirst.read("25/11/2026 07:20"), None);
    }
}
