//! How long records are kept: the classes of the law, and what the shop says beyond it.

use std::str::FromStr;

use serde::{Deserialize, Serialize};
use time::{Date, Month};

use crate::book::{Entry, Line, Say};
use crate::error::Refusal;

/// The longest that a shop may say, in months: a hundred years.
pub const LONGEST: u16 = 1_200;

/// A class of records with a period of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "lowercase")]
#[sqlx(type_name = "text", rename_all = "lowercase")]
pub enum Class {
    /// Of batches whose product is sold refrigerated, and of no other.
    Refrigerated,
    /// Of everything else that is made or watched: where a record speaks of both, the longer period holds.
    Preserved,
    /// Sanitation before and during work.
    Sanitation,
    /// What was bought and sold, and from and to whom.
    Transactions,
}

impl Class {
    pub const ALL: [Self; 4] = [Self::Refrigerated, Self::Preserved, Self::Sanitation, Self::Transactions];

    pub fn word(self) -> &'static str {
        match self {
            Self::Refrigerated => "refrigerated",
            Self::Preserved => "preserved",
            Self::Sanitation => "sanitation",
            Self::Transactions => "transactions",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Refrigerated => "Refrigerated product",
            Self::Preserved => {
                "Frozen, preserved or shelf-stable product, and all else that the shop records"
            }
            Self::Sanitation => "Sanitation before and during work",
            Self::Transactions => "What was bought and sold",
        }
    }

    /// Which lines of the book are in it.
    pub fn holds(self) -> &'static str {
        match self {
            Self::Refrigerated => {
                "Lines that speak of batches whose product is in a family sold refrigerated, fresh or raw, and of no other batch."
            }
            Self::Preserved => {
                "Lines that speak of other batches, and lines that speak of no batch: plans, places, instruments, people. \
                 Where a line speaks of both, the longer period holds."
            }
            Self::Sanitation => {
                "Lines that speak of cleaning and of nothing else. What a plan asks to be checked is counted above, \
                 with the longer period."
            }
            Self::Transactions => "Deliveries with each of their lines, suppliers, customers and dispatches.",
        }
    }

    /// The period of the law, in months.
    pub fn months(self) -> u16 {
        match self {
            Self::Refrigerated => 12,
            Self::Preserved | Self::Transactions => 24,
            Self::Sanitation => 6,
        }
    }

    /// Where the period is from.
    pub fn source(self) -> &'static str {
        match self {
            Self::Refrigerated => {
                "9 CFR 417.5(e): at least one year for slaughter activities and refrigerated product (read in a second source)"
            }
            Self::Preserved => {
                "9 CFR 417.5(e): at least two years for frozen, preserved or shelf-stable product (read in a second source)"
            }
            Self::Sanitation => {
                "9 CFR 416.16(c): at least six months; on the premises for 48 hours after completion (read in a second source)"
            }
            Self::Transactions => {
                "9 CFR 320.3: two years after 31 December of the year of the transaction (read in a second source)"
            }
        }
    }

    /// Whether the period begins only when the calendar year is over.
    fn counts_from_the_years_end(self) -> bool {
        self == Self::Transactions
    }

    /// The last day whose records have been kept for so many months: those of this day and before may be archived.
    pub fn cut_off(self, today: Date, months: u16) -> Date {
        let day = months_before(today, months);
        if self.counts_from_the_years_end() && (day.month(), day.day()) != (Month::December, 31) {
            return Date::from_calendar_date(day.year() - 1, Month::December, 31).unwrap_or(Date::MIN);
        }
        day
    }
}

impl FromStr for Class {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|class| class.word() == text).ok_or(())
    }
}

/// The same day so many months before; the last of its month where that has no such day.
fn months_before(today: Date, months: u16) -> Date {
    let at = today.year() * 12 + i32::from(u8::from(today.month())) - 1 - i32::from(months);
    let (year, month) = (at.div_euclid(12), at.rem_euclid(12) + 1);
    let month =
        u8::try_from(month).ok().and_then(|month| Month::try_from(month).ok()).unwrap_or(Month::January);
    let day = today.day().min(month.length(year));
    Date::from_calendar_date(year, month, day).unwrap_or(Date::MIN)
}

/// Families of products, by the shipped one that they were written from, whose product is sold refrigerated.
pub const REFRIGERATED: [&str; 3] = ["whole muscle, refrigerated", "fresh", "raw cut"];

/// Lines of what was bought and sold.
pub const BOUGHT_AND_SOLD: [&str; 6] = [
    "supplier.written",
    "delivery.received",
    "lot.received",
    "lot.refused",
    "customer.written",
    "lots.dispatched",
];

/// The shop keeps a class of records for so long. `retention.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RetentionWritten {
    pub class: Class,
    pub months: u16,
    pub reason: String,
}

impl Entry for RetentionWritten {
    const KIND: &'static str = "retention.written";

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Records kept for {}: {}", period(self.months), self.class.name()))
            .why(self.reason.clone())
    }
}

/// A shop may keep records longer than the law asks, never shorter.
pub fn keep(class: Class, months: u16, reason: String) -> Result<RetentionWritten, Refusal> {
    if months < class.months() {
        let say =
            format!("The law asks for {} at least. Longer is for the shop to say.", period(class.months()));
        return Err(Refusal::at("months", say));
    }
    if months > LONGEST {
        return Err(Refusal::at("months", "At most 1200 months, which are a hundred years."));
    }
    Ok(RetentionWritten { class, months, reason })
}

/// `2 years`, `18 months`
pub fn period(months: u16) -> String {
    match (months / 12, months % 12) {
        (1, 0) => "1 year".into(),
        (years, 0) if years > 0 => format!("{years} years"),
        _ if months == 1 => "1 month".into(),
        _ => format!("{months} months"),
    }
}

#[cfg(test)]
mod tests {
    use time::macros::date;

    use super::*;

    #[test]
    fn a_record_may_be_archived_on_the_day_on_which_its_period_is_full_and_not_a_day_before() {
        // 9 CFR 417.5(e): one year, two years; 416.16(c): six months.
        let off = |class: Class, today| class.cut_off(today, class.months());
        assert_eq!(off(Class::Refrigerated, date!(2026 - 11 - 25)), date!(2025 - 11 - 25));
        assert_eq!(off(Class::Preserved, date!(2026 - 11 - 25)), date!(2024 - 11 - 25));
        assert_eq!(off(Class::Sanitation, date!(2026 - 08 - 31)), date!(2026 - 02 - 28));
        assert_eq!(off(Class::Sanitation, date!(2026 - 03 - 01)), date!(2025 - 09 - 01));
        // A leap day is a year old on the first of March.
        assert_eq!(off(Class::Refrigerated, date!(2025 - 02 - 28)), date!(2024 - 02 - 28));
        assert_eq!(off(Class::Refrigerated, date!(2025 - 03 - 01)), date!(2024 - 03 - 01));
    }

    #[test]
    fn what_was_bought_is_kept_two_years_beyond_the_end_of_its_year() {
        // 9 CFR 320.3: of a transaction of 2024, until 31 December 2026.
        let off = |today| Class::Transactions.cut_off(today, 24);
        assert_eq!(off(date!(2026 - 12 - 30)), date!(2023 - 12 - 31));
        assert_eq!(off(date!(2026 - 12 - 31)), date!(2024 - 12 - 31));
        assert_eq!(off(date!(2027 - 01 - 01)), date!(2024 - 12 - 31));
    }

    #[test]
    fn a_shop_keeps_records_as_long_as_the_law_asks_or_longer() {
        assert!(keep(Class::Refrigerated, 12, String::new()).is_ok());
        let refused = keep(Class::Refrigerated, 11, String::new()).expect_err("refused");
        assert!(refused.message.contains("1 year at least"), "{}", refused.message);
        assert!(keep(Class::Preserved, LONGEST, String::new()).is_ok());
        assert!(keep(Class::Preserved, LONGEST + 1, String::new()).is_err());
    }

    #[test]
    fn periods_are_said_in_years_where_they_are_whole() {
        assert_eq!([1, 6, 12, 18, 24].map(period), ["1 month", "6 months", "1 year", "18 months", "2 years"]);
    }
}
