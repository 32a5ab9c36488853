//! What the book says of plans: a draft, a signed version, a reassessment.

use serde::{Deserialize, Serialize};

use super::document::{Document, Sort};
use crate::book::{Effects, Entry, Line, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{Named, PlanId};

/// The latest draft of a plan; it binds nobody. `plan.drafted`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlanDrafted {
    pub plan: PlanId,
    pub document: Document,
    /// The starting plan that it was written from; empty where it was not.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub shipped: String,
    /// What was changed: "step Mixing".
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub changed: String,
}

impl Entry for PlanDrafted {
    const KIND: &'static str = "plan.drafted";

    fn effects(&self) -> Effects {
        Effects::none().about(self.plan)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("Draft of the {} {}", self.document.sort.word(), self.document.name));
        if !self.changed.is_empty() {
            line.why(self.changed.clone())
        } else if self.shipped.is_empty() {
            line
        } else {
            line.why("from a starting plan, to be reassessed by the shop with its regulator")
        }
    }
}

/// A version that the owner signed. It never changes; a batch keeps the one that it was begun under. `plan.signed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlanSigned {
    pub plan: PlanId,
    pub version: u32,
    pub document: Document,
    /// Why it is signed: the first time, or what changed (9 CFR 417.2(d), 417.4(a)(3)).
    pub reason: String,
}

impl Entry for PlanSigned {
    const KIND: &'static str = "plan.signed";

    fn effects(&self) -> Effects {
        Effects::none().about(self.plan)
    }

    fn line(&self, _say: &Say) -> Line {
        let ccps = match self.document.ccps().count() {
            0 => String::new(),
            1 => "; 1 critical control point".into(),
            n => format!("; {n} critical control points"),
        };
        let (sort, name) = (self.document.sort.word(), &self.document.name);
        Line::new(format!("Signed the {sort} {name}, version {}", self.version))
            .why(format!("{}{ccps}", self.reason))
    }
}

/// A signed version looked over and left as it is. `plan.reassessed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlanReassessed {
    pub plan: Named<PlanId>,
    pub version: u32,
    /// What was looked at, and why nothing is to change.
    pub reason: String,
}

impl Entry for PlanReassessed {
    const KIND: &'static str = "plan.reassessed";

    fn effects(&self) -> Effects {
        Effects::none().about(self.plan.id)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Reassessed {}, version {}: it stays", self.plan.name, self.version))
            .why(self.reason.clone())
    }
}

/// What the rule needs to know of the other plans.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Others {
    /// The version that stands, 0 where none does.
    pub version: u32,
    pub standing: Option<Document>,
    /// The kinds of recipe that other signed plans cover, with the name of each.
    pub covered: Vec<(crate::recipes::RecipeKind, String)>,
}

/// A version is signed when nothing is missing, something changed, and no other plan covers the same products.
pub fn sign(plan: PlanId, document: Document, reason: String, others: &Others) -> Result<PlanSigned, Errors> {
    let mut errors = Errors::default();
    let lacks = document.lacks();
    if !lacks.is_empty() {
        errors.push(Refusal::of(format!("Before it can be signed it needs {}.", lacks.join("; "))));
    }
    if others.standing.as_ref() == Some(&document) {
        errors.push(Refusal::of("Nothing has changed since the signed version. Reassess that one instead."));
    }
    if document.sort == Sort::Plan {
        for (kind, name) in others.covered.iter().filter(|(kind, _)| document.covers.contains(kind)) {
            let message = format!("Batches of the kind {} stand under the plan {name} already.", kind.word());
            errors.push(Refusal::at("covers", message));
        }
    }
    if errors.is_empty() {
        Ok(PlanSigned { plan, version: others.version + 1, document, reason })
    } else {
        Err(errors)
    }
}
