//! The walk: from the movements of a lot and of all that it came from to what it costs. Pure.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use rust_decimal::Decimal;

use super::entry::Method;
use crate::book::{Account, Seq};
use crate::ids::LotId;
use crate::measure::{Grams, LotCode, Money, PricePerKg};
use crate::standards::joint_cost::{self, By, Carried, Part};

/// What is known of a lot beside its movements.
#[derive(Debug, Clone)]
pub struct About {
    pub code: LotCode,
    pub item_name: String,
    /// What was paid for it at the door; none where it was not written down, or where it did not come through the door.
    pub paid: Option<Money>,
    /// What a kilogram of it would sell for.
    pub sales_price: Option<PricePerKg>,
    pub by_product: bool,
}

/// One entry that counts: what it took off lots and laid on them.
#[derive(Debug, Clone, Default)]
pub struct Step {
    /// Whether it takes a source apart: [`super::TAKES_APART`].
    pub apart: bool,
    pub lots: Vec<(LotId, Grams)>,
    pub accounts: Vec<(Account, Grams)>,
}

/// The movements of some lots and of all that they came from, in the order of the book.
#[derive(Debug, Clone, Default)]
pub struct Lineage {
    pub steps: BTreeMap<Seq, Step>,
    pub lots: BTreeMap<LotId, About>,
}

/// A lot whose price was not written down, so that nothing made of it has a known cost.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unpriced {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
}

/// What a lot costs. Nothing is known where a price is missing: unknown is not zero.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Cost {
    /// What it carried when it was received or made.
    pub made: Option<Money>,
    /// What is carried by what is left of it now.
    pub now: Option<Money>,
    /// What a kilogram of it costs now; where nothing is left, what it cost when the last of it left.
    pub per_kg: Option<PricePerKg>,
    /// What its cuts carry together, where it was taken apart.
    pub shared: Option<Money>,
    /// Why the cost is not known; empty where it is.
    pub unpriced: Vec<Unpriced>,
}

impl Cost {
    /// Whether every price that it rests on was written down.
    pub fn is_known(&self) -> bool {
        self.unpriced.is_empty()
    }
}

/// Shares a source's cost over its cuts by the shop's method, to the cent. Where the sales value of a cut that should
/// bear cost is not known, or where there is none, it is shared by weight; the answer says by what it was.
/// `price`: none where the shop's list has none.
pub fn share_over_cuts(
    joint: Money,
    cuts: &[(Grams, Option<PricePerKg>, bool)],
    method: Method,
) -> (By, Vec<Carried>) {
    let parts: Vec<Part> = cuts
        .iter()
        .map(|(weight, price, by_product)| Part {
            weight: *weight,
            price: price.unwrap_or(PricePerKg::ZERO),
            by_product: *by_product && method.by_products_first,
        })
        .collect();
    let priced = cuts.iter().zip(&parts).all(|((_, price, _), part)| price.is_some() || part.by_product);
    let by = if priced { method.by } else { By::Weight };
    if let Ok(carried) = joint_cost::share(joint, &parts, by) {
        return (by, carried);
    }
    // Only by-products, or nothing that sells: then every kilogram carries the same.
    let plain: Vec<Part> = parts.iter().map(|part| Part { by_product: false, ..*part }).collect();
    let carried = joint_cost::share(joint, &plain, By::Weight).unwrap_or_default();
    (By::Weight, carried)
}

/// What each of these lots costs.
pub fn costs(lineage: &Lineage, lots: &[LotId], method: Method) -> BTreeMap<LotId, Cost> {
    let mut walk =
        Walk { lineage, method, by_lot: BTreeMap::new(), done: BTreeMap::new(), open: BTreeSet::new() };
    for (seq, step) in &lineage.steps {
        for (lot, _) in &step.lots {
            walk.by_lot.entry(*lot).or_default().push(*seq);
        }
    }
    lots.iter().map(|lot| (*lot, walk.reckon(*lot).cost.clone())).collect()
}

/// Money on its way, not rounded; or the lots for want of whose price it is not known.
#[derive(Debug, Clone)]
enum Sum {
    Known(Decimal),
    Unknown(BTreeSet<LotId>),
}

impl Sum {
    const NOTHING: Self = Self::Known(Decimal::ZERO);

    fn plus(self, other: Self) -> Self {
        match (self, other) {
            (Self::Known(a), Self::Known(b)) => Self::Known(a + b),
            (Self::Unknown(mut a), Self::Unknown(b)) => {
                a.extend(b);
                Self::Unknown(a)
            }
            (Self::Unknown(a), Self::Known(_)) | (Self::Known(_), Self::Unknown(a)) => Self::Unknown(a),
        }
    }

    /// `part` of `whole` of it. All of it, to the last digit, where that is the whole.
    fn part(&self, part: Grams, whole: Grams) -> Self {
        match self {
            Self::Known(sum) if part != whole => {
                // No weight is zero where something comes off it; then there is nothing to carry either.
                Self::Known((*sum * part.decimal()).checked_div(whole.decimal()).unwrap_or_default())
            }
            other => other.clone(),
        }
    }

    fn minus(&self, other: &Self) -> Self {
        match (self, other) {
            (Self::Known(a), Self::Known(b)) => Self::Known(*a - *b),
            _ => self.clone(),
        }
    }

    fn money(&self) -> Option<Money> {
        match self {
            Self::Known(sum) => Some(Money::new(*sum)),
            Self::Unknown(_) => None,
        }
    }

    fn per_kg(&self, grams: Grams) -> Option<PricePerKg> {
        match self {
            Self::Known(sum) => {
                let a_gram = sum.checked_div(grams.decimal())?;
                Some(PricePerKg::new(a_gram * Decimal::ONE_THOUSAND))
            }
            Self::Unknown(_) => None,
        }
    }
}

/// What was reckoned of one lot: its cost, and what each entry took off it.
#[derive(Debug, Clone, Default)]
struct Reckoned {
    cost: Cost,
    taken: BTreeMap<Seq, Sum>,
}

struct Walk<'a> {
    lineage: &'a Lineage,
    method: Method,
    by_lot: BTreeMap<LotId, Vec<Seq>>,
    done: BTreeMap<LotId, Rc<Reckoned>>,
    /// Lots that are being reckoned: one that comes back to itself is not asked twice.
    open: BTreeSet<LotId>,
}

/// A lot while its entries are gone through: what lies there and what it carries.
struct Pile {
    grams: Grams,
    sum: Sum,
    made: Sum,
    per_kg: Option<PricePerKg>,
}

impl Pile {
    /// Takes grams off with their part of the cost.
    fn take(&mut self, grams: Grams) -> Sum {
        self.per_kg = self.sum.per_kg(self.grams).or(self.per_kg);
        let taken = self.sum.part(grams, self.grams);
        self.sum = self.sum.minus(&taken);
        self.grams -= grams;
        taken
    }

    /// Loses grams and keeps their cost; the last of it takes the cost away with it.
    fn lose(&mut self, grams: Grams) {
        if grams >= self.grams {
            self.per_kg = self.sum.per_kg(self.grams).or(self.per_kg);
        }
        self.grams -= grams;
    }
}

impl Walk<'_> {
    fn reckon(&mut self, lot: LotId) -> Rc<Reckoned> {
        if let Some(done) = self.done.get(&lot) {
            return Rc::clone(done);
        }
        if !self.open.insert(lot) {
            return Rc::default();
        }
        let reckoned = Rc::new(self.go_through(lot));
        self.open.remove(&lot);
        self.done.insert(lot, Rc::clone(&reckoned));
        reckoned
    }

    fn go_through(&mut self, lot: LotId) -> Reckoned {
        let mut pile = Pile { grams: Grams::ZERO, sum: Sum::NOTHING, made: Sum::NOTHING, per_kg: None };
        let mut taken: BTreeMap<Seq, Sum> = BTreeMap::new();
        let mut cuts: Vec<(Seq, LotId, Grams)> = Vec::new();
        let lineage = self.lineage;
        for seq in self.by_lot.get(&lot).cloned().unwrap_or_default() {
            let Some(step) = lineage.steps.get(&seq) else { continue };
            let moved: Grams = step.lots.iter().filter(|(of, _)| *of == lot).map(|(_, grams)| *grams).sum();
            if !moved.is_negative() {
                let brought = self.brought(lot, seq, step, moved);
                pile.made = std::mem::replace(&mut pile.made, Sum::NOTHING).plus(brought.clone());
                pile.sum = std::mem::replace(&mut pile.sum, Sum::NOTHING).plus(brought);
                pile.grams += moved;
                continue;
            }
            let onto = step.lots.iter().find(|(_, grams)| grams.is_positive());
            match onto {
                Some((cut, weight)) if step.apart => {
                    taken.insert(seq, pile.take(-moved));
                    cuts.push((seq, *cut, *weight));
                }
                Some(_) => drop(taken.insert(seq, pile.take(-moved))),
                None if step.accounts.iter().any(|(account, _)| *account == Account::Customer) => {
                    taken.insert(seq, pile.take(-moved));
                }
                None => pile.lose(-moved),
            }
        }
        let shared = self.share(&mut pile, &cuts, &mut taken);
        Reckoned { cost: self.cost(&pile, shared.as_ref()), taken }
    }

    /// What arrives on a lot with an entry: its part of what the entry took off other lots, or what was paid for it.
    fn brought(&mut self, lot: LotId, seq: Seq, step: &Step, grams: Grams) -> Sum {
        let mut sum = Sum::NOTHING;
        for (from, moved) in &step.lots {
            if moved.is_negative() {
                let taken = self.reckon(*from).taken.get(&seq).cloned();
                sum = sum.plus(taken.unwrap_or_else(|| Sum::Unknown([*from].into())));
            }
        }
        let onto: Grams = step.lots.iter().map(|(_, moved)| *moved).filter(|moved| moved.is_positive()).sum();
        let bought = step.accounts.iter().any(|(account, moved)| {
            moved.is_negative() && !matches!(account, Account::Found | Account::Water | Account::Missing)
        });
        if bought {
            let paid = self.lineage.lots.get(&lot).and_then(|about| about.paid);
            sum =
                sum.plus(paid.map_or_else(|| Sum::Unknown([lot].into()), |paid| Sum::Known(paid.decimal())));
            return sum;
        }
        sum.part(grams, onto)
    }

    /// Shares over the cuts what they took together. Once nothing lies on the block, the cutting loss is theirs to bear.
    fn share(
        &self,
        pile: &mut Pile,
        cuts: &[(Seq, LotId, Grams)],
        taken: &mut BTreeMap<Seq, Sum>,
    ) -> Option<Sum> {
        if cuts.is_empty() {
            if pile.grams.is_zero() {
                pile.sum = Sum::NOTHING;
            }
            return None;
        }
        let mut pool =
            cuts.iter().filter_map(|(seq, _, _)| taken.get(seq).cloned()).fold(Sum::NOTHING, Sum::plus);
        if pile.grams.is_zero() {
            pool = pool.plus(std::mem::replace(&mut pile.sum, Sum::NOTHING));
        }
        let Some(joint) = pool.money() else {
            for (seq, _, _) in cuts {
                taken.insert(*seq, pool.clone());
            }
            return Some(pool);
        };
        let parts: Vec<_> = cuts
            .iter()
            .map(|(_, cut, grams)| {
                let about = self.lineage.lots.get(cut);
                (*grams, about.and_then(|a| a.sales_price), about.is_some_and(|a| a.by_product))
            })
            .collect();
        let (_, carried) = share_over_cuts(joint, &parts, self.method);
        for ((seq, _, _), carried) in cuts.iter().zip(carried) {
            taken.insert(*seq, Sum::Known(carried.cost.decimal()));
        }
        Some(Sum::Known(joint.decimal()))
    }

    fn cost(&self, pile: &Pile, shared: Option<&Sum>) -> Cost {
        let unpriced = match &pile.made {
            Sum::Known(_) => Vec::new(),
            Sum::Unknown(lots) => lots.iter().filter_map(|lot| self.unpriced(*lot)).collect(),
        };
        let per_kg = if pile.grams.is_positive() { pile.sum.per_kg(pile.grams) } else { pile.per_kg };
        Cost {
            made: pile.made.money(),
            now: pile.made.money().and_then(|_| pile.sum.money()),
            per_kg,
            shared: shared.and_then(Sum::money),
            unpriced,
        }
    }

    fn unpriced(&self, lot: LotId) -> Option<Unpriced> {
        let about = self.lineage.lots.get(&lot)?;
        Some(Unpriced { lot, code: about.code, item_name: about.item_name.clone() })
    }
}

#[cfg(test)]
mod tests;
