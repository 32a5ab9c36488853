//! How each criterion of a family stands for a batch and for each of its pieces, by what is recorded and by nothing else.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use super::criterion::{Asks, Criterion, Rule};
use super::readings;
use crate::book::Seq;
use crate::checks::Value;
use crate::evidence::Found;
use crate::ids::LotId;
use crate::measure::{Grams, Percent};
use crate::standards::drying;

/// A reading that stands: of the batch where it names no lot, otherwise of that lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measured {
    pub seq: Seq,
    pub lot: Option<LotId>,
    pub value: Value,
    pub at: OffsetDateTime,
}

/// A deviation that is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Open {
    pub seq: Seq,
    pub what: String,
    /// Whether it is on the batch as a whole.
    pub of_batch: bool,
    pub lots: Vec<LotId>,
}

/// A limit that holds for a stage of the batch, and the checks against it that were recorded in that stage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ccp {
    /// "Fermented, pH at the end (at most pH 5.30), a batch at the end of fermenting".
    pub words: String,
    pub checks: Vec<Checked>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Checked {
    pub seq: Seq,
    pub met: bool,
    /// The line that closed the deviation that it opened.
    pub closed: Option<Seq>,
}

/// How the review of the batch stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reviewed {
    Never,
    /// Signed, and nothing has changed since.
    Stands {
        seq: Seq,
        upto: Seq,
        initials: String,
        alone: bool,
    },
    /// This line came after it.
    Stale {
        seq: Seq,
        changed_by: Seq,
    },
}

/// A piece and what is known of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceKnown {
    pub lot: LotId,
    pub code: String,
    pub green: Grams,
    /// What it weighed at its last weigh-in, and the line.
    pub last: Option<(Grams, Seq)>,
    /// Whether anything of it is here.
    pub here: bool,
    pub held: Option<(String, Seq)>,
}

impl PieceKnown {
    /// What it has lost of its green weight; only a weigh-in says so.
    pub fn loss(&self) -> Option<(Percent, Seq)> {
        self.last.map(|(grams, seq)| (Percent::of(self.green - grams, self.green), seq))
    }
}

/// All that the criteria are held against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evidence {
    /// What other rooms have found of the batch as a whole, each for its rule.
    pub given: BTreeMap<Asks, Found>,
    pub readings: Vec<Measured>,
    pub deviations: Vec<Open>,
    pub ccps: Vec<Ccp>,
    pub review: Reviewed,
    pub pieces: Vec<PieceKnown>,
    /// Whether its pH may still fall.
    pub ferments: bool,
}

/// How a criterion stands: for the batch as a whole, or piece by piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stood {
    pub criterion: Criterion,
    pub of: Of,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Of {
    Batch(Found),
    Pieces(Vec<(LotId, Found)>),
}

impl Stood {
    /// How it stands for one piece; nothing for a piece that is not of the batch.
    pub fn of_piece(&self, lot: LotId) -> Option<&Found> {
        match &self.of {
            Of::Batch(found) => Some(found),
            Of::Pieces(pieces) => pieces.iter().find(|(piece, _)| *piece == lot).map(|(_, found)| found),
        }
    }

    pub fn is_met_for(&self, lot: LotId) -> bool {
        self.of_piece(lot).is_some_and(Found::is_met)
    }
}

/// Every criterion, in the family's order.
pub fn judge(criteria: &[Criterion], evidence: &Evidence) -> Vec<Stood> {
    let one = |criterion: &Criterion| Stood {
        criterion: criterion.clone(),
        of: match &criterion.rule {
            Rule::CureWithinLimits
            | Rule::TimeAndColdOfCure
            | Rule::FermentedInTime
            | Rule::ParasitesControlled => Of::Batch(given(criterion.rule.asks(), evidence)),
            Rule::CcpsRecorded => Of::Batch(ccps(&evidence.ccps)),
            Rule::RecordsReviewed => Of::Batch(reviewed(&evidence.review)),
            rule => Of::Pieces(
                evidence.pieces.iter().map(|piece| (piece.lot, of_piece(rule, piece, evidence))).collect(),
            ),
        },
    };
    criteria.iter().map(one).collect()
}

/// What another room found of the batch; not yet where it has found nothing.
fn given(asks: Asks, evidence: &Evidence) -> Found {
    let found = evidence.given.get(&asks).cloned();
    found.unwrap_or_else(|| Found::not_yet("Nothing is recorded of it."))
}

fn of_piece(rule: &Rule, piece: &PieceKnown, evidence: &Evidence) -> Found {
    match rule {
        Rule::PhAtMost { most } => readings::ph(*most, piece, evidence),
        Rule::LossAtLeast { least } => lost(*least, piece),
        Rule::WaterActivityAtMost { most, pieces } => {
            readings::water_activity(*most, *pieces, piece, evidence)
        }
        Rule::ShelfStable { pieces } => readings::shelf_stable(*pieces, piece, evidence),
        Rule::MoistureToProteinAtMost { most } => readings::moisture_to_protein(*most, piece, evidence),
        Rule::NoOpenDeviation => deviations(piece, &evidence.deviations),
        Rule::NothingOnHold => held(piece),
        Rule::CureWithinLimits
        | Rule::TimeAndColdOfCure
        | Rule::FermentedInTime
        | Rule::ParasitesControlled => given(rule.asks(), evidence),
        Rule::CcpsRecorded => ccps(&evidence.ccps),
        Rule::RecordsReviewed => reviewed(&evidence.review),
    }
}

/// By the last weigh-in.
fn lost(least: Percent, piece: &PieceKnown) -> Found {
    let Some((grams, seq)) = piece.last else {
        return Found::not_yet(format!("Weigh it in: {least}\u{a0}% of green weight is asked."));
    };
    let so_far = Percent::of(piece.green - grams, piece.green);
    if drying::reached(piece.green, grams, least) {
        return Found::met(format!("{} of green weight", so_far.text()), vec![seq]);
    }
    Found::not_yet(format!(
        "It has lost {}\u{a0}% of green weight; {least}\u{a0}% is asked. Let it dry and weigh it in again.",
        so_far.decimal()
    ))
}

fn deviations(piece: &PieceKnown, open: &[Open]) -> Found {
    let of_it = |one: &&Open| one.of_batch || one.lots.contains(&piece.lot);
    let mine: Vec<&Open> = open.iter().filter(of_it).collect();
    if mine.is_empty() {
        return Found::met("none open", vec![]);
    }
    let what: Vec<&str> = mine.iter().map(|one| one.what.as_str()).collect();
    Found::failed(
        format!("Open: {}", what.join("; ")),
        "Write the four parts of the corrective action and decide what becomes of it.",
        mine.iter().map(|one| one.seq).collect(),
    )
}

fn held(piece: &PieceKnown) -> Found {
    match &piece.held {
        None => Found::met("nothing holds it", vec![]),
        Some((reason, seq)) => Found::failed(
            format!("On hold: {reason}"),
            "Somebody with the right lifts the hold, or the piece is discarded.",
            vec![*seq],
        ),
    }
}

fn ccps(all: &[Ccp]) -> Found {
    let missing: Vec<&str> = all
        .iter()
        .filter(|ccp| !ccp.checks.iter().any(|check| check.met || check.closed.is_some()))
        .map(|ccp| ccp.words.as_str())
        .collect();
    if !missing.is_empty() {
        return Found::not_yet(format!(
            "No check that met it, or whose deviation was closed: {}.",
            missing.join("; ")
        ));
    }
    let lines = |check: &Checked| [Some(check.seq), check.closed].into_iter().flatten();
    let by = all.iter().flat_map(|ccp| ccp.checks.iter().flat_map(lines)).collect();
    match all.len() {
        0 => Found::met("no limit of the shop holds for its stages", vec![]),
        1 => Found::met("1 limit for its stages, with its check", by),
        n => Found::met(format!("{n} limits for its stages, each with its check"), by),
    }
}

fn reviewed(review: &Reviewed) -> Found {
    match review {
        Reviewed::Never => {
            Found::not_yet("Somebody who made none of the batch's records looks them over and signs.")
        }
        Reviewed::Stands { seq, upto, initials, alone } => {
            let alone = if *alone { ", the shop's only person" } else { "" };
            Found::met(format!("by {initials}{alone}, up to line {upto}"), vec![*seq])
        }
        Reviewed::Stale { changed_by, .. } => Found::not_yet(format!(
            "Line {changed_by} came after the review. The records are looked over again."
        )),
    }
}
