use crate::measure::{Celsius, UnitSystem};
use rust_decimal::{Decimal, RoundingStrategy};

/// How a published figure was come by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// The text of the law or the handbook was read.
    Read,
    /// A page that restates the law was read.
    Restated,
    /// From memory: nobody rests on it before the shop has confirmed it.
    Memory,
    /// Common practice in the trade; no source.
    Practice,
}

impl Mark {
    /// What is said beside the figure.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "the text was read",
            Self::Restated => "read in a page that restates the law",
            Self::Memory => "from memory, to be confirmed",
            Self::Practice => "common practice",
        }
    }

    /// Whether a shop may rest on it without confirming it first.
    pub const fn is_confirmed(self) -> bool {
        matches!(self, Self::Read | Self::Restated)
    }
}

/// How one thing that a rule asks for stands by what is recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    Met,
    /// Nothing recorded yet, or not long enough yet.
    Missing,
    /// Not met, and no waiting will meet it.
    Failed,
}

impl State {
    pub const fn word(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::Missing => "missing",
            Self::Failed => "not met",
        }
    }

    /// Met, or failed.
    pub(super) const fn of(met: bool) -> Self {
        if met { Self::Met } else { Self::Failed }
    }
}

/// One thing that a published rule asks for, and how it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    pub what: &'static str,
    pub needed: String,
    pub found: String,
    pub state: State,
    pub source: &'static str,
    pub mark: Mark,
}

impl Held {
    /// What is not measured is missing; what is measured is met or not.
    pub(super) fn new(
        what: &'static str,
        needed: impl Into<String>,
        found: Option<(String, bool)>,
        (source, mark): (&'static str, Mark),
    ) -> Self {
        let (found, state) = match found {
            None => ("not measured".to_owned(), State::Missing),
            Some((found, met)) => (found, State::of(met)),
        };
        Self { what, needed: needed.into(), found, state, source, mark }
    }
}

/// A temperature that the law gives in whole degrees Fahrenheit, in the hundredths of a degree Celsius in which readings are
/// kept: a reading typed as exactly that many degrees Fahrenheit is exactly at the limit.
pub const fn fahrenheit(degrees: i32) -> Celsius {
    let ninths = (degrees - 32) * 500;
    let half = if ninths < 0 { -9 } else { 9 };
    // Half away from zero; a ninth never ends on a half.
    Celsius::hundredths((ninths * 2 + half) / 18)
}

/// `45 °F (7.2 °C)`.
pub fn in_fahrenheit(degrees: i32) -> String {
    let sign = if degrees < 0 { "\u{2212}" } else { "" };
    format!("{sign}{} °F ({})", degrees.abs(), fahrenheit(degrees).text(UnitSystem::Metric))
}

/// A temperature that was found: `46.6 °F (8.1 °C)`.
pub fn found_temperature(value: Celsius) -> String {
    format!("{} ({})", value.text(UnitSystem::Us), value.text(UnitSystem::Metric))
}

/// A figure as a page shows it, cut off after so many decimals and never rounded up to a limit: `19.9`.
pub fn cut_off(value: Decimal, places: u32) -> String {
    value.round_dp_with_strategy(places, RoundingStrategy::ToZero).normalize().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_in_fahrenheit_is_where_a_reading_of_as_many_degrees_is_kept() {
        for degrees in -60..=220 {
            let typed = Celsius::from_fahrenheit(degrees.into()).unwrap();
            assert_eq!(fahrenheit(degrees), typed, "{degrees} °F");
        }
        assert_eq!(in_fahrenheit(-10), "\u{2212}10 °F (\u{2212}23.3 °C)");
        assert_eq!(found_temperature(fahrenheit(45)), "45.0 °F (7.2 °C)");
    }

    #[test]
    fn what_is_almost_reached_is_not_shown_as_reached() {
        assert_eq!(cut_off("19.999".parse().unwrap(), 1), "19.9");
        assert_eq!(cut_off("20.000".parse().unwrap(), 1), "20");
    }

    #[test]
    fn only_what_was_read_is_confirmed() {
        assert!(Mark::Read.is_confirmed() && Mark::Restated.is_confirmed());
        assert!(!Mark::Memory.is_confirmed() && !Mark::Practice.is_confirmed());
    }
}
