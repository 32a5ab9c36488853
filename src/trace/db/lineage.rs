//! The walk over the movements: one recursive query for the lots, one for every step of them.

use std::collections::{BTreeMap, BTreeSet};

use sqlx::{PgConnection, query, query_scalar};
use uuid::Uuid;

use crate::book::{self, Account, Lot, Movement, Seq, Side};
use crate::error::Result;
use crate::ids::LotId;
use crate::measure::Grams;
use crate::receiving::{self, Origin};
use crate::trace::flow::{self, Step};
use crate::trace::parts::{Parts, settled};

/// Which way to walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// To what they came from.
    Back,
    /// To what they became.
    Forward,
}

/// Lots that hang together, and every step that stands of any of them, in the order of the book.
#[derive(Debug, Clone, Default)]
pub struct Lineage {
    pub lots: BTreeSet<LotId>,
    pub steps: Vec<Step>,
}

/// Everything that these lots came from or became, themselves included. Struck entries and their strikes are left out.
pub async fn lineage(db: &mut PgConnection, lots: &[LotId], direction: Direction) -> Result<Lineage> {
    let from: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let reached = match direction {
        Direction::Forward => descendants(db, &from).await?,
        Direction::Back => ancestors(db, &from).await?,
    };
    let steps = steps(db, &reached).await?;
    Ok(Lineage { lots: reached.into_iter().map(LotId).collect(), steps })
}

async fn descendants(db: &mut PgConnection, from: &[Uuid]) -> Result<Vec<Uuid>> {
    let lots = query_scalar!(
        r#"WITH RECURSIVE walk AS (
               SELECT lot FROM unnest($1::uuid[]) AS u(lot)
               UNION
               SELECT t.lot FROM walk
               JOIN movement f ON f.lot = walk.lot AND f.grams < 0 AND f.lot IS NOT NULL
               JOIN movement t ON t.seq = f.seq AND t.grams > 0 AND t.lot IS NOT NULL
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = f.seq)
                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = f.seq)
           )
           SELECT lot AS "lot!" FROM walk"#,
        from
    );
    Ok(lots.fetch_all(db).await?)
}

async fn ancestors(db: &mut PgConnection, from: &[Uuid]) -> Result<Vec<Uuid>> {
    let lots = query_scalar!(
        r#"WITH RECURSIVE walk AS (
               SELECT lot FROM unnest($1::uuid[]) AS u(lot)
               UNION
               SELECT f.lot FROM walk
               JOIN movement t ON t.lot = walk.lot AND t.grams > 0 AND t.lot IS NOT NULL
               JOIN movement f ON f.seq = t.seq AND f.grams < 0 AND f.lot IS NOT NULL
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = t.seq)
                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.by_seq = t.seq)
           )
           SELECT lot AS "lot!" FROM walk"#,
        from
    );
    Ok(lots.fetch_all(db).await?)
}

/// Every step that stands and moves one of these lots, whole: with what else it moved.
async fn steps(db: &mut PgConnection, lots: &[Uuid]) -> Result<Vec<Step>> {
    let rows = query!(
        r#"WITH touched AS (
               SELECT seq FROM movement WHERE lot = ANY($1) AND lot IS NOT NULL AND grams < 0
               UNION
               SELECT seq FROM movement WHERE lot = ANY($1) AND lot IS NOT NULL AND grams > 0
           )
           SELECT m.seq AS "seq: Seq", e.happened_at, m.lot AS "lot: LotId", m.account AS "account: Account",
                  m.party, m.grams AS "grams: Grams"
           FROM touched JOIN entry e ON e.seq = touched.seq JOIN movement m ON m.seq = e.seq
           WHERE e.kind <> 'entry.struck' AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = e.seq)
           ORDER BY m.seq, m.n"#,
        lots
    )
    .fetch_all(db)
    .await?;
    let mut steps: Vec<Step> = Vec::new();
    for row in rows {
        let side = match (row.lot, row.account) {
            (Some(lot), _) => Side::Lot(lot),
            (None, Some(account)) => Side::Account(account, row.party),
            (None, None) => return Err(anyhow::anyhow!("a movement of entry {} has no side", row.seq).into()),
        };
        let movement = Movement { side, grams: row.grams };
        match steps.last_mut() {
            Some(step) if step.seq == row.seq => step.movements.push(movement),
            _ => steps.push(Step { seq: row.seq, at: row.happened_at, movements: vec![movement] }),
        }
    }
    Ok(steps)
}

/// The way of one lot back to the door.
#[derive(Debug, Clone, Default)]
pub struct OriginChain {
    /// From the lot that came through the door to the one that was asked for, along what weighs most where several
    /// went in.
    pub way: Vec<Lot>,
    /// Every lot from outside that is in it, with its grams in the lot that was asked for; the heaviest first.
    pub origins: Vec<(Origin, Grams)>,
    /// What the lot took in, the whole that the shares are of.
    pub whole: Grams,
}

impl OriginChain {
    /// The animals in it: every origin that came off one.
    pub fn animals(&self) -> impl Iterator<Item = &(Origin, Grams)> {
        self.origins.iter().filter(|(origin, _)| !origin.species.is_empty() || !origin.ear_tag.is_empty())
    }
}

/// Where a lot comes from: the way back to the door, and every lot from outside that is in it.
pub async fn origin_chain(db: &mut PgConnection, lot: LotId) -> Result<OriginChain> {
    let lineage = lineage(db, &[lot], Direction::Back).await?;
    let mut origins = Vec::new();
    let mut whole = Grams::ZERO;
    for (door, grams, all) in lineage.shares_in(lot) {
        whole = all;
        if let Some(origin) = receiving::origin(db, door).await? {
            origins.push((origin, grams));
        }
    }
    origins.sort_by_key(|(_, grams)| std::cmp::Reverse(*grams));
    let way = lineage.way_to(lot);
    let known = book::db::lots(db, &way).await?;
    let way = way.iter().filter_map(|id| known.iter().find(|lot| lot.id == *id).cloned()).collect();
    Ok(OriginChain { way, origins, whole })
}

impl Lineage {
    /// The lots that came through the door.
    pub fn doors(&self) -> BTreeSet<LotId> {
        let outside =
            |m: &Movement| matches!(m.side, Side::Account(Account::Supplier, _)) && m.grams.is_negative();
        let steps = self.steps.iter().filter(|step| step.movements.iter().any(outside));
        let arrived = steps.flat_map(|step| &step.movements).filter_map(|movement| match movement.side {
            Side::Lot(lot) if movement.grams.is_positive() => Some(lot),
            _ => None,
        });
        arrived.filter(|lot| self.lots.contains(lot)).collect()
    }

    /// What each lot from outside weighs in `lot`, and what the lot took in altogether.
    pub fn shares_in(&self, lot: LotId) -> Vec<(LotId, Grams, Grams)> {
        let shares = self.doors().into_iter().filter_map(|door| {
            let flow = flow::forward(&self.steps, &[door].into());
            flow.reached.get(&lot).map(|took_in| (door, took_in.of_source, took_in.grams()))
        });
        let shares: Vec<(LotId, Parts, Grams)> = shares.collect();
        let shown = settled(&shares.iter().map(|(_, of_source, _)| *of_source).collect::<Vec<_>>());
        shares.into_iter().zip(shown).map(|((door, _, whole), grams)| (door, grams, whole)).collect()
    }

    /// From the door to this lot, always along the heaviest way in.
    pub fn way_to(&self, lot: LotId) -> Vec<LotId> {
        let links = flow::back(&self.steps, &[lot].into());
        let mut heaviest: BTreeMap<LotId, (i128, LotId)> = BTreeMap::new();
        for ((from, to), weight) in &links {
            if let (Side::Lot(from), Side::Lot(to)) = (from, to) {
                let best = heaviest.entry(*to).or_insert((*weight, *from));
                *best = (*best).max((*weight, *from));
            }
        }
        let mut way = vec![lot];
        while let Some((_, before)) = way.last().and_then(|last| heaviest.get(last)) {
            if way.contains(before) {
                break;
            }
            way.push(*before);
        }
        way.reverse();
        way
    }
}
