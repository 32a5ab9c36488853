//! Striking: a later entry cancels an earlier one and reverses its movements. Nothing is erased.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::db;
use super::effects::{Account, Effects, Movement, Role, Side};
use super::entry::{Entry, Project, Seq};
use super::line::{Line, Say};
use super::pen::Pen;
use crate::error::{Error, Refusal, Result};
use crate::ids::LotId;
use crate::measure::Grams;

/// An entry is struck by a later one. `entry.struck`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Struck {
    /// The entry that no longer counts.
    pub entry: Seq,
    pub kind: String,
    pub reason: String,
    /// What the struck entry spoke of.
    pub about: Vec<Uuid>,
    /// The movements of the struck entry, with their signs turned.
    pub back: Vec<Back>,
}

/// One movement turned back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Back {
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub lot: Option<LotId>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub account: Option<Account>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub party: Option<Uuid>,
    pub grams: Grams,
}

impl Back {
    fn of(movement: &Movement) -> Self {
        let grams = -movement.grams;
        match movement.side {
            Side::Lot(lot) => Self { lot: Some(lot), account: None, party: None, grams },
            Side::Account(account, party) => Self { lot: None, account: Some(account), party, grams },
        }
    }
}

impl Entry for Struck {
    const KIND: &'static str = "entry.struck";

    fn effects(&self) -> Effects {
        let effects = self.about.iter().fold(Effects::none(), |effects, subject| effects.about(*subject));
        self.back.iter().fold(effects, |effects, back| match (back.lot, back.account) {
            (Some(lot), _) => effects.shift(Side::Lot(lot), back.grams),
            (None, Some(account)) => effects.shift(Side::Account(account, back.party), back.grams),
            (None, None) => effects,
        })
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Line {} struck", self.entry)).why(self.reason.clone())
    }
}

/// The tables are taken back by the book itself, which alone knows the kind of the struck entry.
impl Project for Struck {}

/// What the rule needs to know of the entry that is to be struck.
#[derive(Debug, Clone, Default)]
pub struct Candidate {
    pub can_be_struck: bool,
    pub struck: bool,
    pub roles: BTreeMap<Uuid, Role>,
    /// What each lot holds now, and what this entry moved on it.
    pub lots: BTreeMap<LotId, (Grams, Grams)>,
}

/// A later entry, not struck, that speaks of the same thing.
#[derive(Debug, Clone, Copy)]
pub struct Later {
    pub seq: Seq,
    pub subject: Uuid,
    pub role: Role,
    /// What it moved on the subject, where that is a lot.
    pub grams: Grams,
}

/// Which later entries must be struck first; empty when this one can be struck now.
///
/// - What the entry made may not have been used, moved or spoken of since.
/// - No later entry may have stated the balance of a lot that this one moved.
/// - No lot may end below nothing.
pub fn in_the_way(candidate: &Candidate, later: &[Later]) -> BTreeSet<Seq> {
    let below: BTreeSet<Uuid> = candidate
        .lots
        .iter()
        .filter(|(_, (now, moved))| now.decimal() - moved.decimal() < rust_decimal::Decimal::ZERO)
        .map(|(lot, _)| lot.0)
        .collect();
    later
        .iter()
        .filter(|entry| match candidate.roles.get(&entry.subject) {
            Some(Role::Opens) => true,
            Some(Role::Moves | Role::Settles) => {
                entry.role == Role::Settles
                    || (below.contains(&entry.subject) && entry.grams.decimal().is_sign_negative())
            }
            Some(Role::Names) | None => false,
        })
        .map(|entry| entry.seq)
        .collect()
}

/// Strikes an entry, or says what stands in the way.
///
/// # Errors
/// A refusal when the entry is of a kind that is not struck, is struck already, or has been built upon.
pub async fn strike(pen: &mut Pen, entry: Seq, reason: String) -> Result<Seq> {
    let old = db::read_entry(pen, entry).await?.ok_or(Error::NotFound)?;
    let kinds = pen.kinds();
    let fact = kinds.read(&old.kind, &old.body)?;
    let effects = fact.effects();
    let candidate = Candidate {
        can_be_struck: kinds.get(&old.kind).is_some_and(|kind| kind.can_be_struck),
        struck: old.struck.is_some(),
        roles: effects.about.iter().copied().collect(),
        lots: db::moved_by(pen, entry).await?,
    };
    let later = db::later_than(pen, entry).await?;
    allowed(&candidate, &later)?;
    let about = effects.about.iter().map(|(subject, _)| *subject).collect();
    let back = effects.movements.iter().map(Back::of).collect();
    pen.append(Struck { entry, kind: old.kind, reason, about, back }).await
}

/// The rule in words: what a person reads when a line cannot be struck.
pub fn allowed(candidate: &Candidate, later: &[Later]) -> Result<(), Refusal> {
    if !candidate.can_be_struck {
        return Err(Refusal::of("A line of this kind is not struck. Write what is right as a new line."));
    }
    if candidate.struck {
        return Err(Refusal::of("This line is struck already."));
    }
    let first = in_the_way(candidate, later);
    if first.is_empty() {
        return Ok(());
    }
    let lines: Vec<String> = first.iter().rev().map(ToString::to_string).collect();
    let word = if lines.len() == 1 { "line" } else { "lines" };
    Err(Refusal::of(format!(
        "What this line says has been built upon. Strike {word} {} first, the latest one before the others.",
        lines.join(", ")
    )))
}

#[cfg(test)]
mod tests {
    use super::*;

    const CARCASS: Uuid = Uuid::from_u128(1);
    const COLLAR: Uuid = Uuid::from_u128(2);

    fn grams(n: i64) -> Grams {
        Grams::whole(n)
    }

    /// 3,180 g of collar weighed out of a carcass that still holds 20,000 g.
    fn collar() -> Candidate {
        Candidate {
            can_be_struck: true,
            struck: false,
            roles: [(CARCASS, Role::Moves), (COLLAR, Role::Opens)].into(),
            lots: [
                (LotId(CARCASS), (grams(20_000), grams(-3_180))),
                (LotId(COLLAR), (grams(3_180), grams(3_180))),
            ]
            .into(),
        }
    }

    fn later(seq: i64, subject: Uuid, role: Role, moved: i64) -> Later {
        Later { seq: Seq(seq), subject, role, grams: grams(moved) }
    }

    #[test]
    fn a_cut_that_nobody_has_touched_since_can_be_struck() {
        assert!(allowed(&collar(), &[]).is_ok());
    }

    #[test]
    fn another_cut_from_the_same_carcass_does_not_stand_in_the_way() {
        assert!(allowed(&collar(), &[later(9, CARCASS, Role::Moves, -2_000)]).is_ok());
    }

    #[test]
    fn a_cut_that_has_gone_into_cure_must_come_out_of_it_first() {
        let refusal = allowed(&collar(), &[later(12, COLLAR, Role::Moves, -3_180)]).expect_err("moved on");
        assert!(refusal.message.contains("line 12 first"), "{}", refusal.message);
    }

    #[test]
    fn a_closed_breakdown_is_opened_again_before_a_cut_of_it_is_struck() {
        assert_eq!(in_the_way(&collar(), &[later(15, CARCASS, Role::Settles, -900)]), [Seq(15)].into());
    }

    #[test]
    fn salt_that_was_used_since_is_not_taken_back() {
        let salt = Uuid::from_u128(3);
        let candidate = Candidate {
            can_be_struck: true,
            roles: [(salt, Role::Moves)].into(),
            lots: [(LotId(salt), (grams(100), grams(500)))].into(),
            ..Candidate::default()
        };
        let used = later(20, salt, Role::Moves, -400);
        let added = later(21, salt, Role::Moves, 10);
        assert_eq!(in_the_way(&candidate, &[used, added]), [Seq(20)].into());
    }

    #[test]
    fn a_line_is_struck_once() {
        let twice = Candidate { struck: true, ..collar() };
        assert!(allowed(&twice, &[]).is_err());
    }
}
