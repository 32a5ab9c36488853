//! Putting closed breakdowns side by side. Pure.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use crate::costs::Cost;
use crate::ids::{BreakdownId, ItemId, LotId};
use crate::measure::{Grams, LotCode, Money, Percent, PricePerKg};

/// What is held side by side.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum By {
    #[default]
    Cut,
    Source,
    Supplier,
    Breed,
    Cutter,
}

impl By {
    pub const ALL: [Self; 5] = [Self::Cut, Self::Source, Self::Supplier, Self::Breed, Self::Cutter];

    pub fn word(self) -> &'static str {
        match self {
            Self::Cut => "cut",
            Self::Source => "source",
            Self::Supplier => "supplier",
            Self::Breed => "breed",
            Self::Cutter => "cutter",
        }
    }
}

impl std::str::FromStr for By {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|by| by.word() == text).ok_or(())
    }
}

/// A closed breakdown.
#[derive(Debug, Clone)]
pub struct Broken {
    pub id: BreakdownId,
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub closed_at: OffsetDateTime,
    pub taken_in: Grams,
    /// Found by weighing the source again; negative where it was missing.
    pub found: Grams,
    pub loss: Grams,
    /// Empty where it is not known.
    pub supplier: String,
    pub breed: String,
    /// Who signed most of its weight.
    pub cutter: String,
}

/// One cut of a closed breakdown.
#[derive(Debug, Clone)]
pub struct CutOf {
    pub breakdown: BreakdownId,
    pub item: ItemId,
    pub item_name: String,
    pub grams: Grams,
    /// None where it went straight into waste.
    pub lot: Option<LotId>,
}

/// One line of the comparison.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub name: String,
    /// The breakdown, where the line is one source.
    pub breakdown: Option<BreakdownId>,
    /// How many breakdowns are in it.
    pub sources: usize,
    pub taken_in: Grams,
    /// What was kept, without what went straight into waste.
    pub weight: Grams,
    /// Of the sources as taken on the block.
    pub share: Percent,
    /// Of the sources as taken on the block; none for a cut.
    pub loss: Option<Percent>,
    /// None for a cut.
    pub found: Option<Grams>,
    /// None where a price at the door is missing.
    pub per_kg: Option<PricePerKg>,
}

/// What a line of the comparison adds up.
#[derive(Default)]
struct Sum {
    sources: usize,
    taken_in: Grams,
    weight: Grams,
    loss: Grams,
    found: Grams,
    cost: Option<Money>,
    breakdown: Option<BreakdownId>,
}

/// The lines, heaviest first; sources the latest first. `costs`: of every lot that is a cut here.
pub fn compare(by: By, broken: &[Broken], cuts: &[CutOf], costs: &BTreeMap<LotId, Cost>) -> Vec<Row> {
    if by == By::Cut { by_cut(broken, cuts, costs) } else { by_group(by, broken, cuts, costs) }
}

fn made(cut: &CutOf, costs: &BTreeMap<LotId, Cost>) -> Option<Money> {
    cut.lot.and_then(|lot| costs.get(&lot)).and_then(|cost| cost.made)
}

fn add(sum: Option<Money>, cost: Option<Money>) -> Option<Money> {
    Some(sum? + cost?)
}

fn by_cut(broken: &[Broken], cuts: &[CutOf], costs: &BTreeMap<LotId, Cost>) -> Vec<Row> {
    let taken_in: Grams = broken.iter().map(|source| source.taken_in).sum();
    let mut sums: BTreeMap<ItemId, (&str, Sum, Vec<BreakdownId>)> = BTreeMap::new();
    for cut in cuts.iter().filter(|cut| cut.lot.is_some()) {
        let (_, sum, from) = sums.entry(cut.item).or_insert_with(|| {
            (cut.item_name.as_str(), Sum { cost: Some(Money::ZERO), ..Sum::default() }, Vec::new())
        });
        sum.weight += cut.grams;
        sum.cost = add(sum.cost, made(cut, costs));
        if !from.contains(&cut.breakdown) {
            from.push(cut.breakdown);
        }
    }
    let row = |(name, sum, from): (&str, Sum, Vec<BreakdownId>)| Row {
        name: name.to_owned(),
        breakdown: None,
        sources: from.len(),
        taken_in,
        weight: sum.weight,
        share: Percent::of(sum.weight, taken_in),
        loss: None,
        found: None,
        per_kg: sum.cost.and_then(|cost| PricePerKg::of(cost, sum.weight)),
    };
    let mut rows: Vec<Row> = sums.into_values().map(row).collect();
    rows.sort_by(|a, b| b.weight.cmp(&a.weight).then_with(|| a.name.cmp(&b.name)));
    rows
}

fn by_group(by: By, broken: &[Broken], cuts: &[CutOf], costs: &BTreeMap<LotId, Cost>) -> Vec<Row> {
    let mut sums: BTreeMap<String, Sum> = BTreeMap::new();
    let mut group_of: BTreeMap<BreakdownId, String> = BTreeMap::new();
    for source in broken {
        let name = group(by, source);
        let sum =
            sums.entry(name.clone()).or_insert_with(|| Sum { cost: Some(Money::ZERO), ..Sum::default() });
        sum.sources += 1;
        sum.taken_in += source.taken_in;
        sum.loss += source.loss;
        sum.found += source.found;
        sum.breakdown = (by == By::Source).then_some(source.id);
        group_of.insert(source.id, name);
    }
    for cut in cuts.iter().filter(|cut| cut.lot.is_some()) {
        if let Some(sum) = group_of.get(&cut.breakdown).and_then(|name| sums.get_mut(name)) {
            sum.weight += cut.grams;
            sum.cost = add(sum.cost, made(cut, costs));
        }
    }
    let mut rows: Vec<Row> = sums
        .into_iter()
        .map(|(name, sum)| Row {
            name,
            breakdown: sum.breakdown,
            sources: sum.sources,
            taken_in: sum.taken_in,
            weight: sum.weight,
            share: Percent::of(sum.weight, sum.taken_in),
            loss: Some(Percent::of(sum.loss, sum.taken_in)),
            found: Some(sum.found),
            per_kg: sum.cost.and_then(|cost| PricePerKg::of(cost, sum.weight)),
        })
        .collect();
    if by == By::Source {
        rows.sort_by(|a, b| b.name.cmp(&a.name));
    } else {
        rows.sort_by(|a, b| b.taken_in.cmp(&a.taken_in).then_with(|| a.name.cmp(&b.name)));
    }
    rows
}

fn group(by: By, source: &Broken) -> String {
    let known = |name: &str| if name.is_empty() { "not written".to_owned() } else { name.to_owned() };
    match by {
        By::Cut | By::Source => format!("{} {}", source.code, source.item_name),
        By::Supplier => known(&source.supplier),
        By::Breed => known(&source.breed),
        By::Cutter => known(&source.cutter),
    }
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;
    use uuid::Uuid;

    use super::*;

    fn source(n: u128, supplier: &str, taken_in: i64, loss: i64) -> Broken {
        Broken {
            id: BreakdownId(Uuid::from_u128(n)),
            lot: LotId(Uuid::from_u128(100 + n)),
            code: format!("26329-{n:02}").parse().unwrap(),
            item_name: "pig carcass".into(),
            closed_at: datetime!(2026-11-25 12:00 UTC),
            taken_in: Grams::whole(taken_in),
            found: Grams::ZERO,
            loss: Grams::whole(loss),
            supplier: supplier.into(),
            breed: String::new(),
            cutter: "Cass Underhill".into(),
        }
    }

    fn cut(of: u128, item: u128, grams: i64, lot: Option<u128>) -> CutOf {
        CutOf {
            breakdown: BreakdownId(Uuid::from_u128(of)),
            item: ItemId(Uuid::from_u128(item)),
            item_name: format!("cut {item}"),
            grams: Grams::whole(grams),
            lot: lot.map(|lot| LotId(Uuid::from_u128(lot))),
        }
    }

    fn costs(known: &[(u128, i64)]) -> BTreeMap<LotId, Cost> {
        let cost = |cents| Cost { made: Some(Money::cents(cents)), ..Cost::default() };
        known.iter().map(|(lot, cents)| (LotId(Uuid::from_u128(*lot)), cost(*cents))).collect()
    }

    #[test]
    fn a_cuts_share_is_of_all_sources_in_the_span_whether_they_gave_it_or_not() {
        let broken = [source(1, "A", 80_000, 1_000), source(2, "B", 20_000, 500)];
        let cuts = [cut(1, 7, 8_000, Some(11)), cut(1, 7, 2_000, Some(12)), cut(2, 8, 5_000, Some(13))];
        let rows = compare(By::Cut, &broken, &cuts, &costs(&[(11, 40_00), (12, 10_00)]));
        assert_eq!(rows[0].share, Percent::new(10.into()));
        assert_eq!((rows[0].sources, rows[0].per_kg), (1, Some(PricePerKg::new(5.into()))));
        assert_eq!(rows[1].per_kg, None, "a cost that is not known");
    }

    #[test]
    fn suppliers_are_held_side_by_side_by_weight() {
        let broken = [source(1, "A", 80_000, 800), source(2, "A", 20_000, 1_200), source(3, "", 50_000, 500)];
        let cuts = [cut(1, 7, 60_000, Some(11)), cut(2, 7, 15_000, Some(12)), cut(3, 7, 40_000, None)];
        let rows = compare(By::Supplier, &broken, &cuts, &BTreeMap::new());
        assert_eq!((rows[0].name.as_str(), rows[0].sources), ("A", 2));
        assert_eq!((rows[0].share, rows[0].loss), (Percent::new(75.into()), Some(Percent::new(2.into()))));
        assert_eq!((rows[1].name.as_str(), rows[1].weight), ("not written", Grams::ZERO));
    }

    #[test]
    fn a_source_leads_to_its_breakdown() {
        let rows =
            compare(By::Source, &[source(1, "A", 100, 0), source(2, "A", 100, 0)], &[], &BTreeMap::new());
        assert_eq!(
            rows.iter().map(|row| row.name.as_str()).collect::<Vec<_>>(),
            ["26329-02 pig carcass", "26329-01 pig carcass"]
        );
        assert_eq!(rows[1].breakdown, Some(BreakdownId(Uuid::from_u128(1))));
    }
}
