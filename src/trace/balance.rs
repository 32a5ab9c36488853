//! The balance of a source: of the grams that came in, so many are here, so many went to whom, so many were lost to
//! what. The two sides are the same to 0.01 g.

use std::collections::BTreeMap;

use uuid::Uuid;

use super::flow::Flow;
use super::parts::{Parts, settled};
use crate::book::{Account, Side};
use crate::ids::{LotId, PlaceId};
use crate::measure::Grams;

/// Where grams of the source are now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// In the shop; none where the book does not say in which place.
    Here(Option<PlaceId>),
    /// None over the counter.
    Customer(Option<Uuid>),
    /// Dried, purged, cut away, thrown away, sampled, missing.
    Lost(Account),
}

/// Both sides of the balance.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Balance {
    pub came_in: Vec<(Side, Grams)>,
    pub is_now: Vec<(Place, Grams)>,
}

impl Balance {
    /// Reads it off a flow. `places` says where each lot lies.
    pub fn of(flow: &Flow, places: impl Fn(LotId) -> Option<PlaceId>) -> Self {
        let mut now: BTreeMap<Place, Parts> = BTreeMap::new();
        for (lot, parts) in &flow.held {
            *now.entry(Place::Here(places(*lot))).or_default() += parts;
        }
        for ((account, party), parts) in &flow.went {
            let place = match account {
                Account::Customer => Place::Customer(*party),
                other => Place::Lost(*other),
            };
            *now.entry(place).or_default() += parts;
        }
        let came_in: Vec<(Side, Parts)> = flow.came_in.iter().map(|(side, parts)| (*side, *parts)).collect();
        let now: Vec<(Place, Parts)> = now.into_iter().filter(|(_, parts)| *parts != 0).collect();
        Self { came_in: rounded(came_in), is_now: rounded(now) }
    }

    /// What came in.
    pub fn total(&self) -> Grams {
        self.came_in.iter().map(|(_, grams)| *grams).sum()
    }

    /// What is in the shop of it.
    pub fn here(&self) -> Grams {
        self.sum(|place| matches!(place, Place::Here(_)))
    }

    /// What went to customers of it.
    pub fn gone_out(&self) -> Grams {
        self.sum(|place| matches!(place, Place::Customer(_)))
    }

    /// What was lost of it.
    pub fn lost(&self) -> Grams {
        self.sum(|place| matches!(place, Place::Lost(_)))
    }

    fn sum(&self, which: impl Fn(Place) -> bool) -> Grams {
        self.is_now.iter().filter(|(place, _)| which(*place)).map(|(_, grams)| *grams).sum()
    }
}

fn rounded<K>(rows: Vec<(K, Parts)>) -> Vec<(K, Grams)> {
    let parts: Vec<Parts> = rows.iter().map(|(_, parts)| *parts).collect();
    rows.into_iter().map(|(key, _)| key).zip(settled(&parts)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Effects, Seq};
    use crate::trace::flow::{Step, forward};
    use time::macros::datetime;

    fn lot(n: u128) -> LotId {
        LotId(Uuid::from_u128(n))
    }

    fn step(seq: i64, effects: Effects) -> Step {
        Step { seq: Seq(seq), at: datetime!(2026-11-24 09:40 UTC), movements: effects.movements }
    }

    #[test]
    fn a_carcass_of_which_every_gram_went_somewhere_else_still_balances() {
        let grams = Grams::whole;
        let farm = Uuid::from_u128(90);
        let steps = [
            step(
                1,
                Effects::none()
                    .account(Account::Supplier, Some(farm), grams(-92_400))
                    .give(lot(1), grams(92_400)),
            ),
            step(2, Effects::none().take(lot(1), grams(3_180)).give(lot(2), grams(3_180))),
            step(3, Effects::none().take(lot(2), grams(112)).account(Account::Drying, None, grams(112))),
            step(4, Effects::none().take(lot(1), grams(940)).account(Account::CuttingLoss, None, grams(940))),
            step(
                5,
                Effects::none().take(lot(2), grams(1_420)).account(Account::Customer, None, grams(1_420)),
            ),
        ];
        let cooler = PlaceId(Uuid::from_u128(7));
        let flow = forward(&steps, &[lot(1)].into());
        let balance = Balance::of(&flow, |of| (of == lot(1)).then_some(cooler));
        assert_eq!(balance.total(), grams(92_400));
        assert_eq!(
            balance.is_now,
            [
                (Place::Here(None), grams(1_648)),
                (Place::Here(Some(cooler)), grams(88_280)),
                (Place::Customer(None), grams(1_420)),
                (Place::Lost(Account::CuttingLoss), grams(940)),
                (Place::Lost(Account::Drying), grams(112)),
            ]
        );
        assert_eq!(balance.here() + balance.gone_out() + balance.lost(), balance.total());
    }
}
