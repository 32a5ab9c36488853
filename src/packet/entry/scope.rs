//! What a packet is of, and how that stands in an address.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use time::{Date, Duration};
use uuid::Uuid;

use crate::error::Refusal;
use crate::ids::{BatchId, LotId, PlaceId};
use crate::measure::{input_day, parse_day};

/// The longest span, in days: a leap year.
pub const LONGEST: i64 = 366;

/// What a packet is of. Both days of a span are in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Scope {
    Batch(BatchId),
    Lot(LotId),
    Place(PlaceId, Date, Date),
    Days(Date, Date),
}

impl Scope {
    /// The address of its page.
    pub fn path(&self) -> String {
        format!("/packet/{self}")
    }

    pub fn word(&self) -> &'static str {
        match self {
            Self::Batch(_) => "batch",
            Self::Lot(_) => "lot",
            Self::Place(..) => "place",
            Self::Days(..) => "days",
        }
    }
}

impl fmt::Display for Scope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Batch(batch) => write!(f, "batch-{batch}"),
            Self::Lot(lot) => write!(f, "lot-{lot}"),
            Self::Place(place, from, to) => {
                write!(f, "place-{place}-{}-{}", input_day(*from), input_day(*to))
            }
            Self::Days(from, to) => write!(f, "days-{}-{}", input_day(*from), input_day(*to)),
        }
    }
}

impl From<Scope> for String {
    fn from(scope: Scope) -> Self {
        scope.to_string()
    }
}

impl TryFrom<String> for Scope {
    type Error = &'static str;
    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse().map_err(|()| "what the packet is of cannot be read")
    }
}

/// The length of an id and of a day as they are written.
const ID: usize = 36;
const DAY: usize = 10;

impl FromStr for Scope {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let (word, rest) = text.split_once('-').ok_or(())?;
        let id = |rest: &str| Uuid::parse_str(rest).ok().filter(|_| rest.len() == ID).ok_or(());
        match word {
            "batch" => Ok(Self::Batch(BatchId(id(rest)?))),
            "lot" => Ok(Self::Lot(LotId(id(rest)?))),
            "place" => {
                let (place, days) = rest.split_at_checked(ID).ok_or(())?;
                let (from, to) = days_of(days.strip_prefix('-').ok_or(())?)?;
                Ok(Self::Place(PlaceId(id(place)?), from, to))
            }
            "days" => days_of(rest).map(|(from, to)| Self::Days(from, to)),
            _ => Err(()),
        }
    }
}

/// "2026-10-01-2026-10-31"
fn days_of(text: &str) -> Result<(Date, Date), ()> {
    let (from, to) = text.split_at_checked(DAY).ok_or(())?;
    let to = to.strip_prefix('-').filter(|to| to.len() == DAY).ok_or(())?;
    let days = (parse_day(from).map_err(|_| ())?, parse_day(to).map_err(|_| ())?);
    span(days.0, days.1).map_err(|_| ())
}

/// A span has its first day first and is a year at most.
pub fn span(from: Date, to: Date) -> Result<(Date, Date), Refusal> {
    if to < from {
        return Err(Refusal::at("to", "The last day is before the first."));
    }
    if to - from >= Duration::days(LONGEST) {
        return Err(Refusal::at("to", "A packet spans a year at most. Make one for each year."));
    }
    Ok((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use time::macros::date;

    #[test]
    fn what_it_is_of_is_read_again_from_its_address() {
        let id = Uuid::from_u128(7);
        let (from, to) = (date!(2026 - 10 - 01), date!(2026 - 10 - 31));
        for scope in [
            Scope::Batch(BatchId(id)),
            Scope::Lot(LotId(id)),
            Scope::Place(PlaceId(id), from, to),
            Scope::Days(from, to),
        ] {
            assert_eq!(scope.to_string().parse(), Ok(scope));
            let body = serde_json::to_string(&scope).expect("written");
            assert_eq!(serde_json::from_str::<Scope>(&body).expect("read"), scope);
        }
    }

    #[test]
    fn what_names_nothing_is_refused() {
        for text in
            ["", "batch", "batch-x", "days-2026-10-01", "days-2026-10-31-2026-10-01", "lot-7", "shop-2026"]
        {
            assert_eq!(text.parse::<Scope>(), Err(()), "{text}");
        }
    }

    #[test]
    fn a_leap_year_is_a_span_and_a_day_more_is_not() {
        let first = date!(2028 - 01 - 01);
        assert!(span(first, date!(2028 - 12 - 31)).is_ok());
        assert_eq!(span(first, date!(2029 - 01 - 01)).expect_err("a day more").field, "to");
        assert!(span(first, first).is_ok());
        assert_eq!(span(first, date!(2027 - 12 - 31)).expect_err("backwards").field, "to");
    }
}
