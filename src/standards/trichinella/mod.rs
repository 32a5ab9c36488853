//! Published treatments of pork against *Trichinella*: 9 CFR 318.10 as it stood until 30 July 2018 (83 FR 25302), which state
//! codes (1 CRR-NY 318.10; 7 Pa. Code 1.331 to 1.335) and the CFIA's recommendations still carry, and which federal plants use as
//! supporting documents of their own plans. Each function takes what is recorded and says of each thing that the treatment
//! asks for what it needs and what was found.
//!
//! Temperatures are those of the text in degrees Fahrenheit; the degrees Celsius that it prints beside them are rounded. Rows
//! from memory are marked so, and nobody rests on them before the shop has confirmed them. Ham methods 4 to 6 are not
//! here: their text was not at hand.

mod drying;
mod freezing;
mod heating;
mod tables;
mod whole;

#[cfg(test)]
mod tests;

use rust_decimal::Decimal;

pub use drying::{Sausage, sausage};
pub use freezing::{
    CentreRow, FreezerRow, Freezing, Group, TABLE_1, TABLE_2, centre_freezing, freezer_freezing,
    may_be_frozen,
};
pub use heating::{HEATING, HeatingRow, Least, heating};
pub use tables::{
    TABLE_3A, TABLE_3B, TABLE_3B_DEGREES, TABLE_4, TABLE_5, days_added, days_deducted, drying_days,
    effective_salt, ham_drying_days,
};
pub use whole::{Muscle, whole};

use super::cold::Log;
use super::mark::{Mark, State, cut_off, fahrenheit, found_temperature, in_fahrenheit};

/// What the treatments do not do. It stands on every page about them.
pub const CAUTION: &str = "These treatments address Trichinella only. They are no assurance against Salmonella, Toxoplasma, \
    E. coli or Listeria. The shop's regulator and its own hazard analysis decide.";

/// A published treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Method {
    /// By the temperature of the freezer: table 1.
    Freezing,
    /// By the temperature at the centre of the meat: table 2.
    CentreFreezing,
    Heating,
    Sausage1,
    Pepperoni,
    Sausage2,
    Sausage3,
    Sausage4,
    Sausage5,
    Sausage6,
    Sausage7,
    Capocollo,
    Coppa,
    Ham1,
    Ham3,
}

impl Method {
    /// In the order in which a form offers them.
    pub const ALL: [Self; 15] = [
        Self::Freezing,
        Self::CentreFreezing,
        Self::Heating,
        Self::Sausage1,
        Self::Pepperoni,
        Self::Sausage2,
        Self::Sausage3,
        Self::Sausage4,
        Self::Sausage5,
        Self::Sausage6,
        Self::Sausage7,
        Self::Capocollo,
        Self::Coppa,
        Self::Ham1,
        Self::Ham3,
    ];

    /// What forms, bodies and the database carry.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Freezing => "freezing",
            Self::CentreFreezing => "centre-freezing",
            Self::Heating => "heating",
            Self::Sausage1 => "sausage-1",
            Self::Pepperoni => "sausage-1-pepperoni",
            Self::Sausage2 => "sausage-2",
            Self::Sausage3 => "sausage-3",
            Self::Sausage4 => "sausage-4",
            Self::Sausage5 => "sausage-5",
            Self::Sausage6 => "sausage-6",
            Self::Sausage7 => "sausage-7",
            Self::Capocollo => "capocollo",
            Self::Coppa => "coppa",
            Self::Ham1 => "ham-1",
            Self::Ham3 => "ham-3",
        }
    }

    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|method| method.key() == key)
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::Freezing => "freezing by the freezer's temperature (table 1)",
            Self::CentreFreezing => "freezing by the temperature at the centre (table 2)",
            Self::Heating => "heating",
            Self::Sausage1 => "sausage method 1",
            Self::Pepperoni => "sausage method 1, pepperoni",
            Self::Sausage2 => "sausage method 2",
            Self::Sausage3 => "sausage method 3",
            Self::Sausage4 => "sausage method 4",
            Self::Sausage5 => "sausage method 5",
            Self::Sausage6 => "sausage method 6",
            Self::Sausage7 => "sausage method 7",
            Self::Capocollo => "capocollo",
            Self::Coppa => "coppa",
            Self::Ham1 => "ham and shoulder method 1",
            Self::Ham3 => "ham and shoulder method 3",
        }
    }

    pub const fn mark(self) -> Mark {
        match self {
            Self::Freezing | Self::Sausage1 | Self::Pepperoni | Self::Sausage2 => Mark::Read,
            Self::CentreFreezing | Self::Heating => Mark::Restated,
            Self::Sausage3
            | Self::Sausage4
            | Self::Sausage5
            | Self::Sausage6
            | Self::Sausage7
            | Self::Capocollo
            | Self::Coppa
            | Self::Ham1
            | Self::Ham3 => Mark::Memory,
        }
    }

    pub const fn source(self) -> &'static str {
        match self {
            Self::Freezing => "9 CFR 318.10(c)(2), table 1, as it stood until 30 July 2018; 1 CRR-NY 318.10",
            Self::CentreFreezing => "9 CFR 318.10(c)(2), table 2, as it stood until 30 July 2018",
            Self::Heating => "9 CFR 318.10(c)(1), edition of 1998",
            Self::Sausage1
            | Self::Pepperoni
            | Self::Sausage2
            | Self::Sausage3
            | Self::Sausage4
            | Self::Sausage5
            | Self::Sausage6
            | Self::Sausage7 => "9 CFR 318.10(c)(3)(i), as it stood until 30 July 2018",
            Self::Capocollo => "9 CFR 318.10(c)(3)(ii), as it stood until 30 July 2018",
            Self::Coppa => "9 CFR 318.10(c)(3)(iii), as it stood until 30 July 2018",
            Self::Ham1 | Self::Ham3 => "9 CFR 318.10(c)(3)(iv), as it stood until 30 July 2018",
        }
    }

    pub const fn is_sausage(self) -> bool {
        matches!(
            self,
            Self::Sausage1
                | Self::Pepperoni
                | Self::Sausage2
                | Self::Sausage3
                | Self::Sausage4
                | Self::Sausage5
                | Self::Sausage6
                | Self::Sausage7
        )
    }

    pub const fn is_whole_muscle(self) -> bool {
        matches!(self, Self::Capocollo | Self::Coppa | Self::Ham1 | Self::Ham3)
    }
}

/// What a condition is about: which of the shop's records it is read from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    /// What the shop states of the product once.
    Stated,
    /// The meat as it came in, or before it was frozen.
    Meat,
    /// Salt over the weight that it is reckoned on.
    Salt,
    /// The casing, at stuffing.
    Casing,
    /// Cure and holding before drying.
    Holding,
    /// Smoke, or warm holding.
    Smoke,
    Drying,
    /// Days since the curing materials were added.
    SinceCure,
    Freezing,
    Heating,
}

/// One thing that a treatment asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    pub about: About,
    pub what: &'static str,
    pub needed: String,
    pub found: String,
    pub state: State,
}

impl Condition {
    fn new(about: About, what: &'static str, needed: impl Into<String>) -> Self {
        let (needed, found) = (needed.into(), "nothing recorded".to_owned());
        Self { about, what, needed, found, state: State::Missing }
    }

    fn found(mut self, found: impl Into<String>, state: State) -> Self {
        self.found = found.into();
        self.state = state;
        self
    }

    /// What the shop states of the product.
    fn stated(what: &'static str, needed: impl Into<String>, stated: bool) -> Self {
        let condition = Self::new(About::Stated, what, needed);
        if stated { condition.found("stated by the shop", State::Met) } else { condition }
    }

    /// So many days at least; more time may still meet it.
    fn days(about: About, what: &'static str, needed: Decimal, at: &str, minutes: Option<Decimal>) -> Self {
        Self::time(
            about,
            what,
            needed * Decimal::from(1_440),
            &format!("{} days{at}", needed.normalize()),
            minutes,
        )
    }

    fn hours(about: About, what: &'static str, needed: Decimal, at: &str, minutes: Option<Decimal>) -> Self {
        Self::time(about, what, needed * Decimal::from(60), &format!("{} h{at}", needed.normalize()), minutes)
    }

    fn time(
        about: About,
        what: &'static str,
        needed: Decimal,
        words: &str,
        minutes: Option<Decimal>,
    ) -> Self {
        let condition = Self::new(about, what, format!("at least {words}"));
        match minutes {
            None => condition,
            Some(found) => {
                let state = if found >= needed { State::Met } else { State::Missing };
                condition.found(long(found), state)
            }
        }
    }

    /// Readings close enough to each other that nothing can have happened between them unseen.
    fn read_throughout(about: About, log: &Log) -> Option<Self> {
        let gap = log.longest_gap()?;
        let condition = Self::new(
            about,
            "readings without a gap",
            "a reading at least as often as the shop reads the place",
        );
        Some(condition.found(format!("no reading for {}", gap.words()), State::Missing))
    }
}

/// How the whole of it stands: failed if anything failed, missing if anything is missing.
pub fn stands(conditions: &[Condition]) -> State {
    conditions.iter().map(|condition| condition.state).max().unwrap_or(State::Missing)
}

/// Minutes in days or hours, cut off: `19.9 days`, `30.5 h`.
fn long(minutes: Decimal) -> String {
    if minutes >= Decimal::from(2 * 1_440) {
        format!("{} days", cut_off(minutes / Decimal::from(1_440), 1))
    } else {
        format!("{} h", cut_off(minutes / Decimal::from(60), 1))
    }
}
