//! Days and hours as people read them, and as browsers send them. Which day it is, the shop's zone says (`zone.rs`).

use std::str::FromStr;

use thiserror::Error;
use time::{Date, Month, PrimitiveDateTime, Time};

use super::typed::tidy;

/// Why a day, a time or a zone was not taken, as a sentence for the person who typed it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DayError {
    #[error("Enter a date, such as 2026-11-24.")]
    NoDay,
    #[error("This cannot be read as a date. Write year, month and day, such as 2026-11-24.")]
    NotADay,
    #[error("Enter a date and a time, such as 2026-11-24 09:42.")]
    NoMoment,
    #[error("This cannot be read as a date and time. Write it as 2026-11-24 09:42.")]
    NotAMoment,
    #[error("There is no such day in the calendar.")]
    NoSuchDay,
    #[error("Dates here are from the years 1900 to 2199.")]
    FarAway,
    #[error("\"{0}\" is not a time zone. Choose one from the list, such as Europe/London.")]
    NotAZone(String),
}

/// Reads what a `date` field sends: `2026-11-24`.
pub fn parse_day(text: &str) -> Result<Date, DayError> {
    let tidied = tidy(text);
    if tidied.is_empty() {
        return Err(DayError::NoDay);
    }
    let mut parts = tidied.split('-');
    let (Some(year), Some(month), Some(day), None) = (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(DayError::NotADay);
    };
    let year: i32 = number(year, 4, 4).ok_or(DayError::NotADay)?;
    let month: u8 = number(month, 1, 2).ok_or(DayError::NotADay)?;
    let day: u8 = number(day, 1, 2).ok_or(DayError::NotADay)?;
    if !(1900..=2199).contains(&year) {
        return Err(DayError::FarAway);
    }
    let month = Month::try_from(month).map_err(|_| DayError::NoSuchDay)?;
    Date::from_calendar_date(year, month, day).map_err(|_| DayError::NoSuchDay)
}

/// Reads what a `datetime-local` field sends: `2026-11-24T09:42`, with or without seconds, or with a space for the T.
/// Parts of a second are dropped.
pub fn parse_moment(text: &str) -> Result<PrimitiveDateTime, DayError> {
    let tidied = tidy(text);
    if tidied.is_empty() {
        return Err(DayError::NoMoment);
    }
    let (day, clock) = tidied.split_once(['t', ' ']).ok_or(DayError::NotAMoment)?;
    let day = parse_day(day)
        .map_err(|error| if error == DayError::NotADay { DayError::NotAMoment } else { error })?;
    let clock = parse_clock(clock.trim()).ok_or(DayError::NotAMoment)?;
    Ok(PrimitiveDateTime::new(day, clock))
}

fn parse_clock(text: &str) -> Option<Time> {
    let mut parts = text.split(':');
    let (hour, minute) = (parts.next()?, parts.next()?);
    let second = parts.next().unwrap_or("0");
    if parts.next().is_some() {
        return None;
    }
    let (second, part) = second.split_once('.').unwrap_or((second, "0"));
    number::<u32>(part, 1, 9)?;
    Time::from_hms(number(hour, 1, 2)?, number(minute, 2, 2)?, number(second, 1, 2)?).ok()
}

/// Only digits, so many of them.
fn number<T: FromStr>(text: &str, least: usize, most: usize) -> Option<T> {
    let digits = (least..=most).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if digits { text.parse().ok() } else { None }
}

/// The value of a `date` field: `2026-11-24`.
pub fn input_day(date: Date) -> String {
    format!("{:04}-{:02}-{:02}", date.year(), u8::from(date.month()), date.day())
}

/// The value of a `datetime-local` field: `2026-11-24T09:42`.
pub fn input_moment(at: PrimitiveDateTime) -> String {
    format!("{}T{}", input_day(at.date()), clock(at))
}

/// `24 Nov`.
pub fn day_text(date: Date) -> String {
    format!("{} {}", date.day(), &date.month().to_string()[..3])
}

/// `Wednesday 25 November`.
pub fn day_long(date: Date) -> String {
    format!("{} {} {}", date.weekday(), date.day(), date.month())
}

/// `24 Nov 2026`.
pub fn day_year(date: Date) -> String {
    format!("{} {}", day_text(date), date.year())
}

/// `09:42`, on the 24-hour clock.
pub fn clock(at: PrimitiveDateTime) -> String {
    format!("{:02}:{:02}", at.hour(), at.minute())
}

/// `24 Nov 09:42`, with the year when it is not the year of `today`.
pub fn moment(at: PrimitiveDateTime, today: Date) -> String {
    let day = if at.year() == today.year() { day_text(at.date()) } else { day_year(at.date()) };
    format!("{day} {}", clock(at))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use time::macros::{date, datetime};

    use super::*;

    #[test]
    fn what_a_browser_sends_is_read() {
        assert_eq!(parse_day(" 2026-11-24 "), Ok(date!(2026 - 11 - 24)));
        for sent in [
            "2026-11-24T09:42",
            "2026-11-24 09:42",
            "2026-11-24T09:42:00",
            "2026-11-24T09:42:00.000",
            "2026-11-24 9:42",
        ] {
            assert_eq!(parse_moment(sent), Ok(datetime!(2026-11-24 09:42)), "{sent}");
        }
    }

    #[test]
    fn what_is_no_day_is_refused_with_its_reason() {
        for (typed, error) in [
            ("", DayError::NoDay),
            ("24/11/2026", DayError::NotADay),
            ("24-11-2026", DayError::NotADay),
            ("tomorrow", DayError::NotADay),
            ("2026-11-24-01", DayError::NotADay),
            ("2026-02-29", DayError::NoSuchDay),
            ("2026-13-01", DayError::NoSuchDay),
            ("2026-00-01", DayError::NoSuchDay),
            ("0026-11-24", DayError::FarAway),
        ] {
            assert_eq!(parse_day(typed), Err(error), "{typed}");
        }
        assert_eq!(parse_moment(""), Err(DayError::NoMoment));
        assert_eq!(parse_moment("2026-02-30T09:42"), Err(DayError::NoSuchDay));
        for typed in [
            "2026-11-24",
            "2026-11-24T",
            "2026-11-24T25:00",
            "2026-11-24T09:60",
            "2026-11-24T09",
            "09:42",
            "2026-11-24T09:42Z",
        ] {
            assert_eq!(parse_moment(typed), Err(DayError::NotAMoment), "{typed}");
        }
    }

    #[test]
    fn days_read_as_in_a_book() {
        let at = datetime!(2026-11-24 09:42);
        assert_eq!(day_text(at.date()), "24 Nov");
        assert_eq!(day_long(date!(2026 - 11 - 25)), "Wednesday 25 November");
        assert_eq!(day_year(at.date()), "24 Nov 2026");
        assert_eq!(clock(at), "09:42");
        assert_eq!(moment(at, date!(2026 - 11 - 25)), "24 Nov 09:42");
        assert_eq!(moment(at, date!(2027 - 01 - 02)), "24 Nov 2026 09:42");
    }

    proptest! {
        #[test]
        fn a_field_sends_back_what_it_was_given(days in 0_i64..109_000, minutes in 0_i64..1440) {
            let at = datetime!(1900-01-01 00:00) + time::Duration::days(days) + time::Duration::minutes(minutes);
            prop_assert_eq!(parse_moment(&input_moment(at)), Ok(at));
            prop_assert_eq!(parse_day(&input_day(at.date())), Ok(at.date()));
        }

        #[test]
        fn anything_may_be_typed_as_a_day(text in ".{0,30}") {
            let _ = (parse_day(&text), parse_moment(&text));
        }
    }
}
