//! A plan as its pages show it.

use askama::Template;
use askama::filters::HtmlSafe;

use crate::ids::PlanId;
use crate::measure::UnitSystem;
use crate::plan::entry::{Document, PlannedCheck, Sort};
use crate::plan::flow::{Flow, flow};
use crate::web::parts::Fact;

pub struct HazardRow {
    pub sort: &'static str,
    pub what: String,
    pub likely: bool,
    pub why: String,
    pub control: String,
    /// "CCP 2 Cold of the cure"; empty where it is none.
    pub ccp: String,
}

pub struct StepRow {
    pub n: usize,
    pub name: String,
    /// Where it is changed; empty where it cannot be.
    pub href: String,
    pub hazards: Vec<HazardRow>,
}

pub struct CheckRow {
    /// "CCP 2", or nothing for a check that is none.
    pub number: String,
    pub name: String,
    pub href: String,
    pub facts: Vec<Fact>,
}

/// A document, drawn: the description, the flow, the analysis of hazards, the checks.
#[derive(Template)]
#[template(path = "plan/document.html")]
pub struct Shown {
    pub plan: bool,
    pub facts: Vec<Fact>,
    pub flow: Flow,
    pub steps: Vec<StepRow>,
    pub checks: Vec<CheckRow>,
    /// Where its parts are changed; empty where they cannot be.
    pub change: String,
    pub next_step: usize,
    pub next_check: usize,
}

impl HtmlSafe for Shown {}

/// Draws a document; with `change`, each part links to where it is changed.
pub fn shown(document: &Document, system: UnitSystem, change: Option<PlanId>) -> Shown {
    let base = change.map(|id| id.path()).unwrap_or_default();
    let link = |part: &str, n: usize| {
        if base.is_empty() { String::new() } else { format!("{base}/{part}/{n}") }
    };
    let name = |check: &PlannedCheck| {
        let number = document.ccp_number(check.id).map(|n| format!("CCP {n}")).unwrap_or_default();
        format!("{number} {}", check.name)
    };
    let steps = document.steps.iter().enumerate().map(|(n, step)| StepRow {
        n: n + 1,
        name: step.name.clone(),
        href: link("steps", n + 1),
        hazards: step
            .hazards
            .iter()
            .map(|hazard| HazardRow {
                sort: hazard.sort.word(),
                what: hazard.what.clone(),
                likely: hazard.likely,
                why: hazard.why.clone(),
                control: hazard.control.clone(),
                ccp: hazard.ccp.and_then(|id| document.check(id)).map(name).unwrap_or_default(),
            })
            .collect(),
    });
    let checks = document.checks.iter().enumerate().map(|(n, check)| CheckRow {
        number: document.ccp_number(check.id).map(|n| format!("CCP {n}")).unwrap_or_default(),
        name: check.name.clone(),
        href: link("checks", n + 1),
        facts: facts(check, system),
    });
    Shown {
        plan: document.sort == Sort::Plan,
        facts: description(document),
        flow: flow(document),
        steps: steps.collect(),
        checks: checks.collect(),
        next_step: document.steps.len() + 1,
        next_check: document.checks.len() + 1,
        change: base.clone(),
    }
}

fn facts(check: &PlannedCheck, system: UnitSystem) -> Vec<Fact> {
    let what = if check.ccp { "Critical limit" } else { "What is asked" };
    let mut facts = vec![
        Fact::new(what, check.asked(system)),
        Fact::new("Of", check.of.text()),
        Fact::new("How often", check.every.text()),
        Fact::new("How", check.how.clone()),
        Fact::new("Who", check.who.clone()),
        Fact::new("When it is not met", check.action.clone()),
    ];
    if !check.source.is_empty() {
        facts.push(Fact::new("Source", check.source.clone()));
    }
    if !check.verified.is_empty() {
        facts.push(Fact::new("Verified", check.verified.clone()));
    }
    facts
}

fn description(document: &Document) -> Vec<Fact> {
    let covers: Vec<&str> = document.covers.iter().map(|kind| kind.word()).collect();
    let covers =
        if covers.is_empty() { "no batches".to_owned() } else { format!("batches of {}", covers.join("; ")) };
    let all = [
        ("Describes", &document.describes),
        ("Intended use", &document.intended_use),
        ("Materials and equipment", &document.materials),
        ("Training", &document.training),
        ("Rests on", &document.papers),
        ("Records", &document.records),
    ];
    let mut facts: Vec<Fact> = all
        .into_iter()
        .filter(|(_, words)| !words.is_empty())
        .map(|(name, words)| Fact::new(name, words.clone()))
        .collect();
    if document.sort == Sort::Plan {
        facts.push(Fact::new("Covers", covers));
    }
    facts
}
