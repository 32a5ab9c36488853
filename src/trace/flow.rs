//! Following grams through the book: what of a source went where, and what a lot came from.
//!
//! Entries are walked in the order of the book. What leaves a lot carries the source in the share that the lot has of it
//! at that moment, and what an entry takes in is spread evenly over what it gives out. So a bin of trim that was
//! filled from a second carcass in the afternoon does not lay that carcass into the salami of the morning.

use std::collections::{BTreeMap, BTreeSet};

use time::OffsetDateTime;

use super::parts::{self, PER_HUNDREDTH, Parts, carried, hundredths, share_out};
use crate::book::{Account, Movement, Seq, Side};
use crate::ids::LotId;
use crate::measure::Grams;

/// An entry that stands and moves weight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub movements: Vec<Movement>,
}

/// The sides of a step with their weights in hundredths of a gram.
type Sides = Vec<(Side, i128)>;

impl Step {
    fn sides(&self) -> (Sides, Sides) {
        let (out, into): (Vec<&Movement>, Vec<&Movement>) =
            self.movements.iter().partition(|movement| movement.grams.is_negative());
        let weigh = |list: Vec<&Movement>| list.iter().map(|m| (m.side, hundredths(m.grams.abs()))).collect();
        (weigh(out), weigh(into))
    }
}

/// What a lot took in since it was opened, and how much of that is of the source.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct TookIn {
    pub of_source: Parts,
    /// In hundredths of a gram.
    pub all: i128,
}

impl TookIn {
    /// Everything it took in.
    pub fn grams(self) -> Grams {
        parts::grams(self.all)
    }

    /// What of it is of the source, to 0.01 g.
    pub fn share(self) -> Grams {
        parts::grams((self.of_source + PER_HUNDREDTH / 2) / PER_HUNDREDTH)
    }

    /// Whether something else is in it as well.
    pub fn is_mixed(self) -> bool {
        self.of_source < self.all * PER_HUNDREDTH
    }
}

/// What left for a customer in one entry, out of one lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sent {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub lot: LotId,
    /// None over the counter.
    pub customer: Option<uuid::Uuid>,
    pub grams: Grams,
    pub of_source: Parts,
}

/// Where the grams of a source went.
#[derive(Debug, Clone, Default)]
pub struct Flow {
    /// Where they came from: suppliers, or the lots that the source was made from.
    pub came_in: BTreeMap<Side, Parts>,
    /// Every lot in scope: what it took in, and how much of that is of the source.
    pub reached: BTreeMap<LotId, TookIn>,
    /// What each lot in scope holds of the source now.
    pub held: BTreeMap<LotId, Parts>,
    /// What went to the accounts outside the lots.
    pub went: BTreeMap<(Account, Option<uuid::Uuid>), Parts>,
    pub sent: Vec<Sent>,
    /// Grams, in hundredths, that went from one side to another on the way.
    pub links: BTreeMap<(Side, Side), i128>,
}

/// What a lot holds at one moment of the walk.
#[derive(Default)]
struct Holding {
    /// In hundredths of a gram.
    all: i128,
    of_source: Parts,
}

/// Follows everything that these lots ever took in. `steps` are in the order of the book and hold every step of every
/// lot that can be reached.
pub fn forward(steps: &[Step], sources: &BTreeSet<LotId>) -> Flow {
    let mut walk = Walk { sources, held: BTreeMap::new(), flow: Flow::default() };
    for step in steps {
        walk.take(step);
    }
    let Walk { held, mut flow, .. } = walk;
    flow.held = held
        .into_iter()
        .filter(|(lot, _)| flow.reached.contains_key(lot))
        .map(|(lot, holding)| (lot, holding.of_source))
        .collect();
    flow
}

struct Walk<'a> {
    sources: &'a BTreeSet<LotId>,
    held: BTreeMap<LotId, Holding>,
    flow: Flow,
}

impl Walk<'_> {
    fn take(&mut self, step: &Step) {
        let (out, into) = step.sides();
        let carried: Vec<Parts> = out.iter().map(|(side, weight)| self.draw(*side, *weight)).collect();
        let weights: Vec<i128> = into.iter().map(|(_, weight)| *weight).collect();
        let mut laid = vec![0; into.len()];
        let mut in_scope = false;
        for ((from, weight), of_source) in out.iter().zip(&carried) {
            let on_the_way = self.is_reached(*from);
            in_scope |= on_the_way;
            let flows = share_out(*weight, &weights);
            for (at, part) in share_out(*of_source, &weights).into_iter().enumerate() {
                laid[at] += part;
                if on_the_way {
                    self.pass(step, *from, into[at].0, flows[at], part);
                }
            }
        }
        for ((side, weight), part) in into.iter().zip(&laid) {
            self.lay(*side, *weight, *part, in_scope);
        }
        self.come_in(&out, &carried, &into, &laid);
    }

    fn is_reached(&self, side: Side) -> bool {
        matches!(side, Side::Lot(lot) if self.flow.reached.contains_key(&lot))
    }

    /// Takes weight off a side; what of it is of the source.
    fn draw(&mut self, side: Side, weight: i128) -> Parts {
        let Side::Lot(lot) = side else { return 0 };
        let holding = self.held.entry(lot).or_default();
        let part = carried(holding.of_source, weight, holding.all);
        holding.all -= weight;
        holding.of_source -= part;
        part
    }

    /// Lays weight on a side, of which `part` is of the source. All that is laid on a source is of the source.
    fn lay(&mut self, side: Side, weight: i128, part: Parts, in_scope: bool) {
        let lot = match side {
            Side::Account(account, party) => {
                if in_scope {
                    *self.flow.went.entry((account, party)).or_default() += part;
                }
                return;
            }
            Side::Lot(lot) => lot,
        };
        let is_source = self.sources.contains(&lot);
        let part = if is_source { weight * PER_HUNDREDTH } else { part };
        let holding = self.held.entry(lot).or_default();
        holding.all += weight;
        holding.of_source += part;
        if is_source || in_scope || self.flow.reached.contains_key(&lot) {
            let took_in = self.flow.reached.entry(lot).or_insert_with(|| TookIn {
                of_source: 0,
                // What it held before the source came into it.
                all: holding.all - weight,
            });
            took_in.all += weight;
            took_in.of_source += part;
        }
    }

    /// Notes a way on: from a lot in scope to a lot or to a customer.
    fn pass(&mut self, step: &Step, from: Side, to: Side, weight: i128, part: Parts) {
        if let (Side::Lot(lot), Side::Account(Account::Customer, customer)) = (from, to) {
            let grams = parts::grams(weight);
            let sent = Sent { seq: step.seq, at: step.at, lot, customer, grams, of_source: part };
            self.flow.sent.push(sent);
        }
        if matches!(to, Side::Lot(_) | Side::Account(Account::Customer, _)) {
            *self.flow.links.entry((from, to)).or_default() += weight;
        }
    }

    /// Notes what an entry brought into the sources that was not of them yet.
    fn come_in(&mut self, out: &Sides, carried: &[Parts], into: &Sides, laid: &[Parts]) {
        // What each side gave that was not of the source; where that is nothing to speak of, what it gave.
        let fresh = out.iter().zip(carried).map(|((_, weight), part)| weight - part / PER_HUNDREDTH);
        let mut fresh: Vec<i128> = fresh.collect();
        if fresh.iter().all(|weight| *weight <= 0) {
            fresh = out.iter().map(|(_, weight)| *weight).collect();
        }
        for ((side, weight), part) in into.iter().zip(laid) {
            if !matches!(side, Side::Lot(lot) if self.sources.contains(lot)) {
                continue;
            }
            let came = weight * PER_HUNDREDTH - part;
            for ((from, _), part) in out.iter().zip(share_out(came, &fresh)) {
                if part == 0 {
                    continue;
                }
                *self.flow.came_in.entry(*from).or_default() += part;
                if matches!(from, Side::Account(Account::Supplier, _)) {
                    *self.flow.links.entry((*from, *side)).or_default() += part / PER_HUNDREDTH;
                }
            }
        }
    }
}

/// The ways by which grams came into these lots, back to the door, each with its weight in hundredths of a gram.
pub fn back(steps: &[Step], lots: &BTreeSet<LotId>) -> BTreeMap<(Side, Side), i128> {
    let mut wanted = lots.clone();
    let mut links = BTreeMap::new();
    for step in steps.iter().rev() {
        let (out, into) = step.sides();
        let weights: Vec<i128> = into.iter().map(|(_, weight)| *weight).collect();
        let is_wanted =
            |side: &Side, wanted: &BTreeSet<LotId>| matches!(side, Side::Lot(lot) if wanted.contains(lot));
        let here: Vec<usize> = (0..into.len()).filter(|at| is_wanted(&into[*at].0, &wanted)).collect();
        if here.is_empty() {
            continue;
        }
        for (from, weight) in &out {
            match from {
                Side::Lot(lot) => {
                    wanted.insert(*lot);
                }
                Side::Account(Account::Supplier, _) => {}
                Side::Account(..) => continue,
            }
            let flows = share_out(*weight, &weights);
            for at in &here {
                *links.entry((*from, into[*at].0)).or_default() += flows[*at];
            }
        }
    }
    links
}

#[cfg(test)]
mod tests;
