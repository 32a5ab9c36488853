//! What a plan says: the product, its flow, the hazards of each step, the critical control points with their limits, and the
//! checks of the programmes beside it. The parts are those of 9 CFR 417.2 and 416.12, the Food Code's 8-201.14 and the Codex
//! general principles (CXC 1-1969).

use serde::{Deserialize, Serialize};

use crate::book::Seq;
use crate::checks::entry::{Applies, LimitWritten};
use crate::checks::{Quantity, Value};
use crate::error::{Errors, Refusal};
use crate::ids::{LimitId, Named, PlannedCheckId, derived};
use crate::measure::UnitSystem;
use crate::recipes::{RecipeKind, words};

words! {
    /// A plan has steps, hazards and critical control points; a programme stands beside the plans.
    Sort {
        Plan => "plan",
        Programme => "programme",
    }
}

words! {
    /// What a hazard is.
    HazardSort {
        Biological => "biological",
        Chemical => "chemical",
        Physical => "physical",
    }
}

/// A plan or a programme, whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Document {
    pub sort: Sort,
    pub name: String,
    /// Whether a programme is one of the procedures for sanitation that 9 CFR 416.11 to 416.16 ask for.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sanitation: bool,
    /// The product: composition, packing, keeping, how long; or what a programme is for.
    pub describes: String,
    /// Who eats it, and how it is made ready.
    #[serde(default)]
    pub intended_use: String,
    /// Ingredients, materials and equipment.
    #[serde(default)]
    pub materials: String,
    /// Who was trained, in what, and who answers for the plan.
    #[serde(default)]
    pub training: String,
    /// The documents that the hazard analysis and the limits rest on.
    #[serde(default)]
    pub papers: String,
    /// What is kept as record of the monitoring.
    #[serde(default)]
    pub records: String,
    /// The kinds of recipe whose batches stand under it.
    #[serde(default)]
    pub covers: Vec<RecipeKind>,
    #[serde(default)]
    pub steps: Vec<Step>,
    #[serde(default)]
    pub checks: Vec<PlannedCheck>,
}

/// A step of the flow.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    pub name: String,
    /// The number of the step that it runs into, where that is not the next one: ingredients come in beside the meat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub into: Option<u16>,
    /// Empty only before the analysis is done.
    #[serde(default)]
    pub hazards: Vec<Hazard>,
}

/// A hazard at a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hazard {
    pub sort: HazardSort,
    pub what: String,
    /// Whether it is reasonably likely to occur without control.
    pub likely: bool,
    /// Why it is, or why it is not.
    pub why: String,
    /// What controls it.
    pub control: String,
    /// The check that is its critical control point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ccp: Option<PlannedCheckId>,
}

/// What a check asks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Asks {
    /// A measured value, exactly at an end is met.
    Measured {
        quantity: Quantity,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        least: Option<Value>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        most: Option<Value>,
    },
    /// A recorded yes, item by item where there are several.
    Answered { question: String, items: Vec<String> },
    /// What the program reckons from the records of each batch: ingoing nitrite, degree-hours, loss, parasites. The criteria of
    /// the product's family hold it.
    Reckoned { what: String },
}

/// How often.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Every {
    Hours(u16),
    Days(u16),
    /// On each day with work, before this hour of the shop's clock.
    Work(u8),
    /// Once for each batch.
    Batch,
}

/// A check that a plan or a programme asks for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedCheck {
    /// The same in every version.
    pub id: PlannedCheckId,
    pub name: String,
    /// Whether it is a critical control point.
    #[serde(default)]
    pub ccp: bool,
    pub asks: Asks,
    pub of: Applies,
    pub every: Every,
    /// How it is measured or looked at.
    pub how: String,
    /// Who does it, by what they are in the shop.
    pub who: String,
    /// Where a limit comes from.
    #[serde(default)]
    pub source: String,
    /// What is done when it is not met.
    pub action: String,
    /// What is verified, how often, by whom.
    #[serde(default)]
    pub verified: String,
}

/// The version of a plan or a programme that a limit comes from.
#[derive(Debug, Clone, Copy)]
pub struct By<'a> {
    pub plan: &'a str,
    pub version: u32,
    pub covers: &'a [RecipeKind],
    /// The line of a plan's version, for the batches begun under it; none for a programme, which holds for all.
    pub line: Option<Seq>,
}

impl Every {
    /// "every 12 hours", "before work, by 7:00".
    pub fn text(self) -> String {
        match self {
            Self::Hours(1) => "every hour".into(),
            Self::Hours(hours) => format!("every {hours} hours"),
            Self::Days(1) => "every day".into(),
            Self::Days(days) => format!("every {days} days"),
            Self::Work(hour) => format!("each day before work, by {hour}:00"),
            Self::Batch => "once for each batch".into(),
        }
    }
}

impl PlannedCheck {
    pub fn named(&self) -> Named<PlannedCheckId> {
        Named::new(self.id, self.name.clone())
    }

    /// What is asked, in words.
    pub fn asked(&self, system: UnitSystem) -> String {
        match &self.asks {
            Asks::Measured { quantity, least, most } => {
                let band = crate::checks::entry::band(*least, *most, system);
                if band.is_empty() {
                    quantity.name().to_owned()
                } else {
                    format!("{} {band}", quantity.name())
                }
            }
            Asks::Answered { question, items } if items.is_empty() => question.clone(),
            Asks::Answered { question, items } => format!("{question} {}", items.join(", ")),
            Asks::Reckoned { what } => what.clone(),
        }
    }

    /// The limit that readings are held against once the plan is signed. `None` where nothing is measured, or no end is set.
    ///
    /// A room has one limit, which each version writes anew. A batch keeps the version that it was begun under, so each version
    /// has a limit of its own for its batches.
    pub fn limit(&self, by: &By) -> Option<LimitWritten> {
        let Asks::Measured { quantity, least, most } = self.asks else { return None };
        let of_batches = self.of.is_of_batches();
        let under = by.line.filter(|_| of_batches);
        let before = under.and_then(|_| usize::try_from(by.version.saturating_sub(1)).ok()).unwrap_or(0);
        let version = if under.is_some() { format!(", version {}", by.version) } else { String::new() };
        let own = format!("{}, version {}", by.plan, by.version);
        (least.is_some() || most.is_some()).then(|| LimitWritten {
            limit: LimitId(derived(self.id.0, "limit", before)),
            name: format!("{}, by the plan {}{version}", self.name, by.plan),
            quantity,
            applies: self.of.clone(),
            least,
            most,
            source: if self.source.is_empty() { own } else { format!("{own}: {}", self.source) },
            only: if of_batches { by.covers.to_vec() } else { vec![] },
            under,
            retired: false,
        })
    }
}

impl Document {
    /// The number of a critical control point, counted in the order of the checks.
    pub fn ccp_number(&self, id: PlannedCheckId) -> Option<usize> {
        self.ccps().position(|check| check.id == id).map(|at| at + 1)
    }

    pub fn ccps(&self) -> impl Iterator<Item = &PlannedCheck> {
        self.checks.iter().filter(|check| check.ccp)
    }

    pub fn check(&self, id: PlannedCheckId) -> Option<&PlannedCheck> {
        self.checks.iter().find(|check| check.id == id)
    }

    /// What is still missing before it can be signed: the parts that 9 CFR 417.2(c) and 416.12 ask for.
    pub fn lacks(&self) -> Vec<String> {
        let mut lacks = Vec::new();
        let mut want = |there: bool, what: &str| {
            if !there {
                lacks.push(what.to_owned());
            }
        };
        want(!self.describes.is_empty(), "what it describes");
        match self.sort {
            Sort::Programme => want(!self.checks.is_empty(), "a check at least"),
            Sort::Plan => {
                want(!self.intended_use.is_empty(), "the intended use");
                want(!self.materials.is_empty(), "ingredients, materials and equipment");
                want(!self.training.is_empty(), "who is trained and answers for it");
                want(!self.papers.is_empty(), "the documents that it rests on");
                want(!self.records.is_empty(), "the records that are kept");
                want(!self.steps.is_empty(), "the steps of the flow");
            }
        }
        for step in &self.steps {
            if step.hazards.is_empty() {
                lacks.push(format!(
                    "the hazards of \"{}\", or that there are none that are likely",
                    step.name
                ));
            }
            for hazard in step.hazards.iter().filter(|hazard| hazard.likely && hazard.ccp.is_none()) {
                lacks.push(format!(
                    "a critical control point for \"{}\", or why it is not likely",
                    hazard.what
                ));
            }
        }
        for check in self.ccps() {
            let used =
                self.steps.iter().flat_map(|step| &step.hazards).any(|hazard| hazard.ccp == Some(check.id));
            if !used {
                lacks.push(format!("the hazard that \"{}\" controls", check.name));
            }
            if let Asks::Measured { least: None, most: None, .. } = check.asks {
                lacks.push(format!("the critical limit of \"{}\"", check.name));
            }
            if check.verified.is_empty() {
                lacks.push(format!("how \"{}\" is verified", check.name));
            }
        }
        lacks
    }
}

/// A check says what is asked, of what, how, by whom and what is done when it is not met.
pub fn plan_check(check: PlannedCheck) -> Result<PlannedCheck, Errors> {
    let mut errors = Errors::default();
    if matches!(check.of, Applies::Form(_)) {
        errors.push(Refusal::at(
            "of",
            "A plan checks places and batches; a single lot is checked where it is received.",
        ));
    }
    let of_batches = check.of.is_of_batches();
    match &check.asks {
        Asks::Measured { quantity, least, most } => {
            for end in [least, most].into_iter().flatten().filter(|end| end.quantity() != *quantity) {
                errors.push(Refusal::at(
                    "least",
                    format!("{} is measured, not {}.", quantity.name(), end.quantity().word()),
                ));
            }
            if let (Some(least), Some(most)) = (least, most)
                && least.decimal() > most.decimal()
            {
                errors.push(Refusal::at("most", "The most is less than the least."));
            }
            if check.ccp && check.source.is_empty() {
                errors.push(Refusal::at("source", "Say where the critical limit comes from."));
            }
        }
        Asks::Answered { question, .. } if question.is_empty() => {
            errors.push(Refusal::at("question", "Say what is asked."));
        }
        Asks::Reckoned { what } if what.is_empty() => {
            errors.push(Refusal::at("question", "Say what is reckoned."));
        }
        _ => {}
    }
    if check.every == Every::Batch && !of_batches {
        errors.push(Refusal::at("every", "A place is checked every so many hours or days, or before work."));
    }
    if matches!(check.every, Every::Work(_)) && of_batches {
        errors.push(Refusal::at("every", "A batch is checked every so many hours or days, or once."));
    }
    if matches!(check.every, Every::Work(24..)) {
        errors.push(Refusal::at("number", "Give an hour of the day, 0 to 23."));
    }
    if matches!(check.every, Every::Hours(0) | Every::Days(0)) {
        errors.push(Refusal::at("number", "Give 1 or more."));
    }
    if errors.is_empty() { Ok(check) } else { Err(errors) }
}
