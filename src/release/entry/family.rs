//! Families of products: what each asks before a piece is sold. The shipped ones are the floor: a shop adds and tightens as it
//! likes, and loosens only by the owner's hand, with a reason and the name of the document that bears it.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::criterion::{Asks, Criterion};
use crate::book::{Effects, Entry, Line, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{FamilyId, ItemId, Named, derived};

/// A family as it is shipped.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shipped {
    pub key: String,
    pub name: String,
    /// What goes into it.
    pub words: String,
    pub criteria: Vec<Criterion>,
}

const FAMILIES: &str = include_str!("../../../seed/families.json");

/// The families that come with the program.
///
/// # Errors
/// Broken when the list that was built in cannot be read; a test reads it.
pub fn shipped() -> anyhow::Result<Vec<Shipped>> {
    serde_json::from_str(FAMILIES).map_err(|why| anyhow::anyhow!("seed/families.json: {why}"))
}

impl Shipped {
    /// The id that the shop's own gets when it takes this one up: always the same.
    pub fn id(&self) -> FamilyId {
        FamilyId(derived(Uuid::nil(), &self.key, 0))
    }

    /// As the shop takes it up, word for word.
    pub fn taken_up(&self) -> FamilyWritten {
        FamilyWritten {
            family: self.id(),
            name: self.name.clone(),
            shipped: self.key.clone(),
            criteria: self.criteria.clone(),
            loosened: vec![],
        }
    }
}

/// A criterion that asks less than the shipped family does, and on what that rests.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Loosened {
    /// What the shipped family asks.
    pub from: String,
    /// What this one asks instead; empty where it asks nothing.
    #[serde(default)]
    pub to: String,
    pub reason: String,
    /// The document that bears it: a letter of the process authority, a validation study.
    pub document: String,
}

/// A family of products, new or changed. `family.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FamilyWritten {
    pub family: FamilyId,
    pub name: String,
    /// The shipped family that it was written from.
    pub shipped: String,
    pub criteria: Vec<Criterion>,
    #[serde(default)]
    pub loosened: Vec<Loosened>,
}

impl FamilyWritten {
    pub fn named(&self) -> Named<FamilyId> {
        Named::new(self.family, self.name.clone())
    }

    pub fn criterion(&self, asks: Asks) -> Option<&Criterion> {
        self.criteria.iter().find(|criterion| criterion.rule.asks() == asks)
    }

    pub fn asks_review(&self) -> bool {
        self.criterion(Asks::Review).is_some()
    }
}

impl Entry for FamilyWritten {
    const KIND: &'static str = "family.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.family)
    }

    fn line(&self, _say: &Say) -> Line {
        let asks: Vec<String> = self.criteria.iter().map(|criterion| criterion.rule.words()).collect();
        let line = Line::new(format!("Family {}", self.name)).why(asks.join("; "));
        if self.loosened.is_empty() { line } else { line.alarm("loosened") }
    }
}

/// A product put into a family. `product.placed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProductPlaced {
    pub product: Named<ItemId>,
    pub family: Named<FamilyId>,
}

impl Entry for ProductPlaced {
    const KIND: &'static str = "product.placed";

    fn effects(&self) -> Effects {
        Effects::none().about(self.product.id).about(self.family.id)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{} is released as {}", self.product.name, self.family.name))
    }
}

/// What the owner says for asking less than the shipped family.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Grounds {
    pub reason: String,
    pub document: String,
}

/// Each rule stands once. What is looser than shipped, or left out, needs a reason and a document; what was loosened before and
/// stays so keeps its own.
pub fn write(
    mut family: FamilyWritten,
    shipped: &Shipped,
    before: Option<&FamilyWritten>,
    grounds: &Grounds,
) -> Result<FamilyWritten, Errors> {
    let mut errors = Errors::default();
    if family.criteria.is_empty() {
        errors.push(Refusal::of("A family asks for something at least."));
    }
    for (n, criterion) in family.criteria.iter().enumerate() {
        let asks = criterion.rule.asks();
        if family.criteria.iter().take(n).any(|other| other.rule.asks() == asks) {
            errors.push(Refusal::at(asks.field(), "This rule stands here twice."));
        }
    }
    let mut loosened = Vec::new();
    for floor in &shipped.criteria {
        let now = family.criterion(floor.rule.asks());
        if now.is_some_and(|now| now.rule.is_no_looser_than(&floor.rule)) {
            continue;
        }
        let (from, to) = (floor.rule.words(), now.map(|now| now.rule.words()).unwrap_or_default());
        let known = before.and_then(|before| {
            before.loosened.iter().find(|known| known.from == from && known.to == to).cloned()
        });
        loosened.push(known.unwrap_or_else(|| Loosened {
            from,
            to,
            reason: grounds.reason.clone(),
            document: grounds.document.clone(),
        }));
    }
    for one in &loosened {
        let what = if one.to.is_empty() { "left out" } else { "loosened" };
        if one.reason.is_empty() {
            let message =
                format!("\"{}\" is {what}. Say why less is asked than the shipped family.", one.from);
            errors.push(Refusal::at("reason", message));
        }
        if one.document.is_empty() {
            let message = format!("\"{}\" is {what}. Name the document that bears it.", one.from);
            errors.push(Refusal::at("document", message));
        }
    }
    family.loosened = loosened;
    if errors.is_empty() { Ok(family) } else { Err(errors) }
}
