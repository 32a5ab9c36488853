//! What the shop holds every line of a docket against.

use serde::{Deserialize, Serialize};
use time::Date;

use crate::book::{Effects, Entry, Form, Line, Say};
use crate::measure::{Celsius, Percent, UnitSystem, day_year};

/// The shop's checks at the door. A temperature that is not set, and a check that is off, fails nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[allow(clippy::struct_excessive_bools, reason = "each check is on or off by itself")]
pub struct Checks {
    /// The warmest that a chilled primal, cut, trim, bone or fat may come in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chilled: Option<Celsius>,
    /// The warmest that a carcass or a side may come in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carcass: Option<Celsius>,
    /// The warmest that offal may come in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offal: Option<Celsius>,
    /// No added solution in any meat but carcasses and sides: its salt and phosphate are not in the recipe's sums.
    pub solution: bool,
    /// Carcasses, sides, primals and cuts were never frozen: thawed muscle takes up cure and dries otherwise.
    pub frozen: bool,
    /// The supplier is approved on the day of the delivery.
    pub supplier: bool,
    /// The delivery came with a docket that has a number.
    pub docket: bool,
}

impl Checks {
    /// What holds before the shop has set its own.
    ///
    /// - Metric: carcasses at 7 °C and offal at 3 °C, Regulation (EC) No 853/2004, Annex III, section I, chapter VII;
    ///   chilled product at 4 °C, common practice for cuts, where the regulation would allow 7 °C.
    /// - US: 41 °F (5 °C) for all of them, FDA Food Code 3-202.11.
    pub fn usual(system: UnitSystem) -> Self {
        let [chilled, carcass, offal] = match system {
            UnitSystem::Metric => [4, 7, 3].map(Celsius::whole),
            UnitSystem::Us => [5, 5, 5].map(Celsius::whole),
        };
        Self {
            chilled: Some(chilled),
            carcass: Some(carcass),
            offal: Some(offal),
            solution: true,
            frozen: true,
            supplier: true,
            docket: true,
        }
    }

    /// The warmest that something of this form may come in; none where it need not be cold.
    pub fn warmest(&self, form: Form) -> Option<Celsius> {
        match form {
            Form::Carcass | Form::Side => self.carcass,
            Form::Offal => self.offal,
            Form::Ingredient | Form::Casing => None,
            _ => self.chilled,
        }
    }
}

/// The shop sets its own checks at the door. `receiving_checks.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChecksWritten {
    pub checks: Checks,
}

impl Entry for ChecksWritten {
    const KIND: &'static str = "receiving_checks.written";

    fn effects(&self) -> Effects {
        Effects::none()
    }

    fn line(&self, say: &Say) -> Line {
        let Checks { chilled, carcass, offal, solution, frozen, supplier, docket } = self.checks;
        let warm = |what: &str, most: Option<Celsius>| {
            most.map(|most| format!("{what} at {}", say.temperature(most)))
        };
        let on = |what: &str, on: bool| on.then(|| what.to_owned());
        let all = [
            warm("chilled product", chilled),
            warm("carcasses", carcass),
            warm("offal", offal),
            on("no added solution", solution),
            on("never frozen", frozen),
            on("supplier approved", supplier),
            on("docket", docket),
        ];
        let said: Vec<String> = all.into_iter().flatten().collect();
        let why = if said.is_empty() { "none".to_owned() } else { said.join(", ") };
        Line::new("Checks at the door").why(why)
    }
}

/// A check that a line did not meet, with the figures that it was held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "check")]
pub enum Failed {
    #[serde(rename = "too warm")]
    TooWarm { measured: Celsius, most: Celsius },
    #[serde(rename = "not measured")]
    NotMeasured { most: Celsius },
    #[serde(rename = "added solution")]
    Solution { percent: Percent },
    #[serde(rename = "solution not known")]
    SolutionNotKnown,
    #[serde(rename = "frozen before")]
    Frozen,
    #[serde(rename = "supplier not approved")]
    NotApproved,
    #[serde(rename = "approval ended")]
    ApprovalEnded {
        #[serde(with = "crate::measure::maybe_date")]
        until: Option<Date>,
    },
    #[serde(rename = "no docket")]
    NoDocket,
    #[serde(rename = "best before passed")]
    BestBefore {
        #[serde(with = "crate::measure::maybe_date")]
        day: Option<Date>,
    },
    #[serde(rename = "strength not stated")]
    NoStrength,
}

impl Failed {
    /// The check's word, as the body has it.
    pub fn key(&self) -> &'static str {
        match self {
            Self::TooWarm { .. } => "too warm",
            Self::NotMeasured { .. } => "not measured",
            Self::Solution { .. } => "added solution",
            Self::SolutionNotKnown => "solution not known",
            Self::Frozen => "frozen before",
            Self::NotApproved => "supplier not approved",
            Self::ApprovalEnded { .. } => "approval ended",
            Self::NoDocket => "no docket",
            Self::BestBefore { .. } => "best before passed",
            Self::NoStrength => "strength not stated",
        }
    }

    /// What it says on the line.
    pub fn words(&self, say: &Say) -> String {
        let day = |day: &Option<Date>| day.map(day_year).unwrap_or_default();
        match self {
            Self::TooWarm { measured, most } => {
                format!("{} is warmer than {}", say.temperature(*measured), say.temperature(*most))
            }
            Self::NotMeasured { most } => {
                format!("its temperature was not measured, {} or colder is asked for", say.temperature(*most))
            }
            Self::Solution { percent } => format!("{} added solution", percent.text()),
            Self::SolutionNotKnown => "it is not known whether a solution was added".to_owned(),
            Self::Frozen => "frozen before, so not for whole-muscle cure".to_owned(),
            Self::NotApproved => "the supplier is not approved".to_owned(),
            Self::ApprovalEnded { until } => format!("the supplier's approval ended on {}", day(until)),
            Self::NoDocket => "it came without a docket number".to_owned(),
            Self::BestBefore { day: best } => format!("best before {} has passed", day(best)),
            Self::NoStrength => "earlier lots of it were a cure, and no strength is stated".to_owned(),
        }
    }

    /// Whether no reason in words makes up for it: it may only be held or refused.
    pub fn must_be_held(&self) -> bool {
        matches!(self, Self::BestBefore { .. } | Self::NoStrength)
    }

    /// All of them in one line.
    pub fn all(failed: &[Self], say: &Say) -> String {
        failed.iter().map(|one| one.words(say)).collect::<Vec<_>>().join("; ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_metric_shop_starts_with_the_figures_of_regulation_853_of_2004() {
        // Regulation (EC) No 853/2004, Annex III, section I, chapter VII: 7 °C for meat, 3 °C for offal.
        let checks = Checks::usual(UnitSystem::Metric);
        assert_eq!(checks.warmest(Form::Carcass), Some(Celsius::whole(7)));
        assert_eq!(checks.warmest(Form::Offal), Some(Celsius::whole(3)));
        // Common practice.
        assert_eq!(checks.warmest(Form::Cut), Some(Celsius::whole(4)));
        assert_eq!(checks.warmest(Form::Ingredient), None);
    }

    #[test]
    fn a_us_shop_starts_with_the_41_degrees_of_the_food_code() {
        // FDA Food Code 3-202.11: 41 °F.
        let checks = Checks::usual(UnitSystem::Us);
        for form in [Form::Side, Form::Cut, Form::Offal, Form::Trim] {
            let warmest = checks.warmest(form).expect("a limit");
            assert_eq!(warmest.fahrenheit(), rust_decimal::dec!(41), "{form:?}");
        }
    }

    #[test]
    fn what_failed_reads_back_from_its_body() {
        let all = [
            Failed::TooWarm { measured: Celsius::hundredths(620), most: Celsius::whole(4) },
            Failed::NotMeasured { most: Celsius::whole(4) },
            Failed::Solution { percent: Percent::new(rust_decimal::dec!(12.5)) },
            Failed::SolutionNotKnown,
            Failed::Frozen,
            Failed::NotApproved,
            Failed::ApprovalEnded { until: Some(time::macros::date!(2026 - 10 - 31)) },
            Failed::NoDocket,
            Failed::BestBefore { day: Some(time::macros::date!(2026 - 11 - 01)) },
            Failed::NoStrength,
        ];
        for failed in all {
            let body = serde_json::to_value(&failed).expect("a body");
            assert_eq!(body["check"], failed.key());
            assert_eq!(serde_json::from_value::<Failed>(body).expect("reads back"), failed);
        }
    }
}
