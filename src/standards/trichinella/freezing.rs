//! Freezing: tables 1 and 2.

use rust_decimal::{Decimal, dec};

use super::{About, Condition, Log, State, fahrenheit, found_temperature, in_fahrenheit, long};
use crate::measure::{Celsius, Length};

/// How thick the pieces, layers, boxes or blocks are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// Not over 6 in.
    One,
    /// Over 6 in, not over 27 in.
    Two,
}

impl Group {
    /// None where it is thicker than the tables go.
    pub fn of(thickness: Length) -> Option<Self> {
        if thickness <= inches(dec!(6)) {
            Some(Self::One)
        } else if thickness <= inches(dec!(27)) {
            Some(Self::Two)
        } else {
            None
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::One => "group 1: not over 6 in (152 mm) thick",
            Self::Two => "group 2: over 6 in (152 mm), not over 27 in (686 mm) thick",
        }
    }
}

pub(super) fn inches(inches: Decimal) -> Length {
    Length::of(inches, crate::measure::LengthUnit::Inch)
}

/// A row of table 1: the freezer no warmer than this, for so many days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FreezerRow {
    pub degrees: i32,
    pub group_1: u16,
    pub group_2: u16,
}

impl FreezerRow {
    pub const fn days(self, group: Group) -> u16 {
        match group {
            Group::One => self.group_1,
            Group::Two => self.group_2,
        }
    }
}

/// Table 1, in °F. At −10 °F group 2 takes 20 days: the online text of 7 Pa. Code prints 10, a misprint.
pub const TABLE_1: [FreezerRow; 3] = [
    FreezerRow { degrees: 5, group_1: 20, group_2: 30 },
    FreezerRow { degrees: -10, group_1: 10, group_2: 20 },
    FreezerRow { degrees: -20, group_1: 6, group_2: 12 },
];

/// A row of table 2: the centre of the meat no warmer than this, for so many hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CentreRow {
    pub degrees: i32,
    pub hours: Decimal,
}

/// Table 2. The hours are from a page that restates the law, which prints the degrees Celsius; the degrees Fahrenheit are
/// from memory and agree with them.
pub const TABLE_2: [CentreRow; 8] = [
    CentreRow { degrees: 0, hours: dec!(106) },
    CentreRow { degrees: -5, hours: dec!(82) },
    CentreRow { degrees: -10, hours: dec!(63) },
    CentreRow { degrees: -15, hours: dec!(48) },
    CentreRow { degrees: -20, hours: dec!(35) },
    CentreRow { degrees: -25, hours: dec!(22) },
    CentreRow { degrees: -30, hours: dec!(8) },
    CentreRow { degrees: -35, hours: dec!(0.5) },
];

/// What is recorded of a freezing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Freezing {
    pub thickness: Option<Length>,
    /// Warmest reading of the meat before it went in; none where it came in frozen.
    pub before: Option<Celsius>,
    pub came_frozen: bool,
    /// Pieces spaced so that air moves freely among them.
    pub spaced: bool,
    /// Of the freezer, or of the centre of the meat, over the span of the freezing.
    pub log: Option<Log>,
}

/// Freezing is offered for pork of the farm alone: some Trichinella of wild game (as *T. nativa*) outlive it.
pub fn may_be_frozen(species: &str) -> bool {
    ["pork", "pig", "swine"].contains(&species.trim().to_lowercase().as_str())
}

/// Table 1: the freezer's temperature. The row that is met, or else the one that asks for the least more time.
pub fn freezer_freezing(freezing: &Freezing) -> Vec<Condition> {
    let mut conditions = before(freezing);
    let thick = Condition::new(About::Freezing, "thickness", "not over 27 in (686 mm)");
    let group = freezing.thickness.and_then(Group::of);
    conditions.push(match (freezing.thickness, group) {
        (None, _) => thick,
        (Some(_), Some(group)) => thick.found(group.words(), State::Met),
        (Some(_), None) => thick.found("thicker than the table goes", State::Failed),
    });
    let day = Decimal::from(1_440);
    // Without a group, the longer days are asked for.
    let group = group.unwrap_or(Group::Two);
    let rows = TABLE_1.map(|row| (row.degrees, Decimal::from(row.days(group)) * day));
    conditions.extend(held(freezing.log.as_ref(), &rows, "days at or below", "the freezer", |needed| {
        format!("{} days", (needed / day).normalize())
    }));
    conditions
}

/// Table 2: the temperature at the centre of the meat, in place of table 1.
pub fn centre_freezing(freezing: &Freezing) -> Vec<Condition> {
    let mut conditions = before(freezing);
    let hour = Decimal::from(60);
    let rows = TABLE_2.map(|row| (row.degrees, row.hours * hour));
    conditions.extend(held(freezing.log.as_ref(), &rows, "hours at or below", "the centre", |needed| {
        format!("{} h", (needed / hour).normalize())
    }));
    conditions
}

/// What both tables ask for beforehand.
fn before(freezing: &Freezing) -> Vec<Condition> {
    let chilled = Condition::new(
        About::Meat,
        "before freezing",
        format!("chilled to not above {}, or frozen already", in_fahrenheit(40)),
    );
    let chilled = match (freezing.came_frozen, freezing.before) {
        (true, _) => chilled.found("it came in frozen", State::Met),
        (false, None) => chilled,
        (false, Some(value)) if value <= fahrenheit(40) => {
            chilled.found(found_temperature(value), State::Met)
        }
        // It can still be chilled, measured and frozen.
        (false, Some(value)) => chilled.found(found_temperature(value), State::Missing),
    };
    let spaced = Condition::new(About::Freezing, "spacing", "air moves freely between the pieces");
    vec![chilled, if freezing.spaced { spaced.found("stated by who froze it", State::Met) } else { spaced }]
}

/// The longest stretch without a break at or below each row's temperature, for the row that is met or nearest to it.
fn held(
    log: Option<&Log>,
    rows: &[(i32, Decimal)],
    what: &'static str,
    of: &str,
    print: impl Fn(Decimal) -> String,
) -> Vec<Condition> {
    let needed = |(degrees, minutes): (i32, Decimal)| {
        format!("{} without a break, {of} at or below {}", print(minutes), in_fahrenheit(degrees))
    };
    let any = rows.iter().map(|row| needed(*row)).collect::<Vec<_>>().join("; or ");
    let open = Condition::new(About::Freezing, what, any);
    let Some(log) = log else { return vec![open] };
    let found = rows.iter().filter_map(|row| {
        let minutes = log.longest_at_most(fahrenheit(row.0))?;
        Some((row.1 - minutes, *row, minutes))
    });
    // A row that is met stands before all others; of the others, the one that would be met soonest.
    let Some((short, row, minutes)) = found.min_by_key(|(short, _, _)| (*short).max(Decimal::ZERO)) else {
        return vec![open];
    };
    let state = if short <= Decimal::ZERO { State::Met } else { State::Missing };
    let text = format!("{} at or below {}", long(minutes), in_fahrenheit(row.0));
    let condition = Condition::new(About::Freezing, what, needed(row)).found(text, state);
    let mut conditions = vec![condition];
    conditions.extend(Condition::read_throughout(About::Freezing, log));
    conditions
}
