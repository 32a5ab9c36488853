//! The published rule sets, each in its own scale: one is never judged by converting the other, whose bands have other
//! edges.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::chamber::Warmth;
use crate::measure::{Celsius, Ph};

/// The count ends with the first product pH of this or less; exactly 5.3 is met. Source: FSIS-GD-2023-0002, and the concept
/// itself ("only the time needed to reach pH 5.3").
pub const PH_END: Ph = Ph::hundredths(530);

/// The scale that a rule set counts in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    Fahrenheit,
    Celsius,
}

impl Scale {
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Fahrenheit => "°F",
            Self::Celsius => "°C",
        }
    }

    /// The unit of what is added up.
    pub fn degree_hours(self) -> &'static str {
        match self {
            Self::Fahrenheit => "°F-hours",
            Self::Celsius => "°C-hours",
        }
    }

    /// A temperature in this scale from how the book keeps it, in °C.
    ///
    /// A reading of 80 °F is kept as 26.67 °C. Where what is kept is what a whole tenth of a degree Fahrenheit is kept as,
    /// it is that tenth again and not 80.006; otherwise it is converted exactly, F = 1.8 C + 32 (NIST SP 811).
    pub fn of(self, celsius: Decimal) -> Decimal {
        if self == Self::Celsius {
            return celsius;
        }
        let exact = celsius * Decimal::new(18, 1) + Decimal::from(32);
        let tenth = exact.round_dp(1);
        let back = (tenth - Decimal::from(32)) / Decimal::new(18, 1);
        let kept = Celsius::from_fahrenheit(tenth).map(Celsius::decimal) == Ok(celsius);
        if kept || back.round_dp(4) == celsius { tenth } else { exact }
    }
}

/// Up to which highest temperature a band reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Until {
    Below(Decimal),
    Through(Decimal),
    Above,
}

/// A limit for a range of the highest chamber temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    pub until: Until,
    /// Degree-hours.
    pub limit: Decimal,
    /// The range as the page and the book say it.
    pub words: &'static str,
}

/// What is true of a figure that lies exactly at its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Edge {
    /// Exactly at the limit is met: the published log takes pH 5.3 "within the time limit listed", 60 h at 80 °F.
    #[serde(rename = "at most")]
    AtMost,
    /// Exactly at the limit is not met: the words "less than 1,200", as the concept is often quoted.
    #[serde(rename = "less than")]
    LessThan,
}

impl Edge {
    pub const ALL: [Self; 2] = [Self::AtMost, Self::LessThan];

    pub fn word(self) -> &'static str {
        match self {
            Self::AtMost => "at most",
            Self::LessThan => "less than",
        }
    }

    pub fn allows(self, figure: Decimal, limit: Decimal) -> bool {
        match self {
            Self::AtMost => figure <= limit,
            Self::LessThan => figure < limit,
        }
    }
}

/// Degree-hours against their limit, or hours against a printed table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Method {
    /// The degree-hours themselves.
    Formula,
    /// The table of whole hours: the next higher temperature that it lists, its hours rounded down.
    Printed,
}

impl Method {
    pub const ALL: [Self; 2] = [Self::Formula, Self::Printed];

    pub fn word(self) -> &'static str {
        match self {
            Self::Formula => "formula",
            Self::Printed => "printed",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Formula => "degree-hours by the formula",
            Self::Printed => "the printed table of hours",
        }
    }
}

/// A published rule set.
#[derive(Debug, PartialEq, Eq)]
pub struct RuleSet {
    pub name: &'static str,
    pub scale: Scale,
    /// The critical temperature, in its own scale.
    pub base: Decimal,
    pub bands: [Band; 3],
    /// Whole hours for listed constant temperatures; empty where none is published.
    pub printed: &'static [(Decimal, Decimal)],
    pub printed_source: &'static str,
    pub source: &'static str,
    /// What of it was read and what is from memory.
    pub mark: &'static str,
}

const fn whole(n: u32) -> Decimal {
    Decimal::from_parts(n, 0, 0, false, 0)
}

pub const UNITED_STATES: RuleSet = RuleSet {
    name: "United States",
    scale: Scale::Fahrenheit,
    base: whole(60),
    bands: [
        Band { until: Until::Below(whole(90)), limit: whole(1_200), words: "below 90 °F" },
        Band { until: Until::Through(whole(100)), limit: whole(1_000), words: "90 to 100 °F" },
        Band { until: Until::Above, limit: whole(900), words: "above 100 °F" },
    ],
    printed: &[
        (whole(75), whole(80)),
        (whole(80), whole(60)),
        (whole(85), whole(48)),
        (whole(90), whole(33)),
        (whole(95), whole(28)),
        (whole(100), whole(25)),
        (whole(105), whole(20)),
        (whole(110), whole(18)),
    ],
    printed_source: "University of Wisconsin, Fermentation Log, version 11/23/2012: whole hours, rounded down; between two \
                     listed temperatures the next higher one is used.",
    source: "American Meat Institute Foundation, Good Manufacturing Practices for Fermented Dry and Semi-Dry Sausage \
             Products (1997), the concept that FSIS names in its guideline FSIS-GD-2023-0002.",
    mark: "The limits as restated by others and as the University of Wisconsin's Fermentation Log (version 11/23/2012) uses \
           them, edges of 90 and 100 °F included; the wording of the two upper bands is from memory, to be confirmed.",
};

pub const CANADA: RuleSet = RuleSet {
    name: "Canada",
    scale: Scale::Celsius,
    base: Decimal::from_parts(156, 0, 0, false, 1),
    bands: [
        Band { until: Until::Below(whole(33)), limit: whole(665), words: "below 33 °C" },
        Band { until: Until::Through(whole(37)), limit: whole(555), words: "33 to 37 °C" },
        Band { until: Until::Above, limit: whole(500), words: "above 37 °C" },
    ],
    printed: &[],
    printed_source: "",
    source: "Canadian Food Inspection Agency, Meat Hygiene Manual of Procedures, chapter 4, section 4.16 (archived).",
    mark: "The limits as restated by others; the manual is archived and preventive controls under the Safe Food for \
           Canadians Regulations have taken its place. To be confirmed with the agency.",
};

/// The rule sets by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Rules {
    #[serde(rename = "united states")]
    UnitedStates,
    #[serde(rename = "canada")]
    Canada,
}

impl Rules {
    pub const ALL: [Self; 2] = [Self::UnitedStates, Self::Canada];

    pub fn word(self) -> &'static str {
        match self {
            Self::UnitedStates => "united states",
            Self::Canada => "canada",
        }
    }

    pub fn set(self) -> &'static RuleSet {
        match self {
            Self::UnitedStates => &UNITED_STATES,
            Self::Canada => &CANADA,
        }
    }
}

macro_rules! read_by_word {
    ($($name:ident),*) => {$(
        impl std::str::FromStr for $name {
            type Err = ();
            fn from_str(text: &str) -> Result<Self, ()> {
                Self::ALL.into_iter().find(|one| one.word() == text).ok_or(())
            }
        }
    )*};
}
read_by_word!(Rules, Method, Edge);

/// A figure held against its limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Degree-hours, or hours by the printed table.
    pub figure: Decimal,
    pub limit: Decimal,
    /// "below 90 °F", or "listed at 80 °F".
    pub band: String,
    pub over: bool,
}

impl RuleSet {
    /// The band of a highest chamber temperature, in the rule set's own scale.
    pub fn band(&self, highest: Decimal) -> &Band {
        let [low, middle, high] = &self.bands;
        let in_it = |band: &Band| match band.until {
            Until::Below(edge) => highest < edge,
            Until::Through(edge) => highest <= edge,
            Until::Above => true,
        };
        if in_it(low) {
            low
        } else if in_it(middle) {
            middle
        } else {
            high
        }
    }

    /// The listed temperature and its whole hours for a highest chamber temperature; nothing above the highest listed.
    pub fn listed(&self, highest: Decimal) -> Option<(Decimal, Decimal)> {
        self.printed.iter().copied().find(|(degrees, _)| highest <= *degrees)
    }

    /// Which methods can be used with it.
    pub fn methods(&self) -> &'static [Method] {
        if self.printed.is_empty() { &[Method::Formula] } else { &Method::ALL }
    }

    /// Holds what was added up against the limit of the highest temperature. `None`: the printed table lists no
    /// temperature so high.
    pub fn judge(&self, method: Method, edge: Edge, warmth: &Warmth) -> Option<Verdict> {
        let (figure, limit, band) = match method {
            Method::Formula => {
                let band = self.band(warmth.highest);
                (warmth.degree_hours, band.limit, band.words.to_owned())
            }
            Method::Printed => {
                let (listed, hours) = self.listed(warmth.highest)?;
                (warmth.hours_above, hours, format!("listed at {listed} {}", self.scale.symbol()))
            }
        };
        // Whatever is at or below the critical temperature adds nothing, and nothing is never over.
        let over = !figure.is_zero() && !edge.allows(figure, limit);
        Some(Verdict { figure, limit, band, over })
    }
}
