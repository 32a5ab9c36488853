use proptest::prelude::*;
use rust_decimal::dec;
use uuid::Uuid;

use super::*;

/// A small book, told movement by movement.
#[derive(Default)]
struct Told {
    lineage: Lineage,
}

fn lot(n: u128) -> LotId {
    LotId(Uuid::from_u128(n))
}

impl Told {
    fn step(&mut self, apart: bool, lots: &[(u128, i64)], accounts: &[(Account, i64)]) -> &mut Self {
        let seq = Seq(i64::try_from(self.lineage.steps.len()).unwrap() + 1);
        let lots: Vec<_> = lots.iter().map(|(n, grams)| (lot(*n), Grams::whole(*grams))).collect();
        for (id, _) in &lots {
            self.about(*id);
        }
        let accounts = accounts.iter().map(|(account, grams)| (*account, Grams::whole(*grams))).collect();
        self.lineage.steps.insert(seq, Step { apart, lots, accounts });
        self
    }

    fn about(&mut self, lot: LotId) -> &mut About {
        self.lineage.lots.entry(lot).or_insert_with(|| About {
            code: "26329-02".parse().unwrap(),
            item_name: "pork".into(),
            paid: None,
            sales_price: None,
            by_product: false,
        })
    }

    fn bought(&mut self, n: u128, grams: i64, paid: Option<Money>) -> &mut Self {
        self.step(false, &[(n, grams)], &[(Account::Supplier, -grams)]);
        self.about(lot(n)).paid = paid;
        self
    }

    fn cut(&mut self, from: u128, to: u128, grams: i64) -> &mut Self {
        self.step(true, &[(from, -grams), (to, grams)], &[])
    }

    fn loses(&mut self, n: u128, grams: i64, account: Account) -> &mut Self {
        self.step(false, &[(n, -grams)], &[(account, grams)])
    }

    fn cost(&self, n: u128, method: Method) -> Cost {
        costs(&self.lineage, &[lot(n)], method).remove(&lot(n)).unwrap()
    }

    fn now(&self, n: u128) -> Option<Money> {
        self.cost(n, Method::default()).now
    }
}

#[allow(clippy::unnecessary_wraps, reason = "costs are compared as they are answered")]
fn money(cents: i64) -> Option<Money> {
    Some(Money::cents(cents))
}

#[allow(clippy::unnecessary_wraps, reason = "costs are compared as they are answered")]
fn per_kg(price: Decimal) -> Option<PricePerKg> {
    Some(PricePerKg::new(price))
}

#[test]
fn the_cutting_loss_is_borne_by_the_cuts() {
    let mut told = Told::default();
    told.bought(1, 10_000, money(40_00)).cut(1, 2, 6_000).cut(1, 3, 3_000);
    // Open: a kilogram still lies on the block and carries its own 4.00.
    assert_eq!((told.now(2), told.now(3), told.now(1)), (money(24_00), money(12_00), money(4_00)));
    told.loses(1, 1_000, Account::CuttingLoss);
    // Closed: 40.00 over 9 kg.
    assert_eq!((told.now(2), told.now(3), told.now(1)), (money(26_67), money(13_33), money(0)));
    assert_eq!(told.cost(1, Method::default()).shared, money(40_00));
    assert_eq!(told.cost(1, Method::default()).per_kg, per_kg(dec!(4)));
}

#[test]
fn a_piece_that_dries_keeps_its_cost_and_grows_dearer_by_the_kilo() {
    let mut told = Told::default();
    told.bought(1, 2_000, money(10_00)).step(false, &[(1, -1_000), (2, 1_000)], &[]);
    assert_eq!(told.cost(2, Method::default()).per_kg, per_kg(dec!(5)));
    told.loses(2, 100, Account::Purge).loses(2, 300, Account::Drying);
    let piece = told.cost(2, Method::default());
    assert_eq!((piece.made, piece.now, piece.per_kg), (money(5_00), money(5_00), per_kg(dec!(8.3333))));
    assert_eq!(told.now(1), money(5_00));
}

#[test]
fn a_mix_carries_what_went_into_it_and_water_costs_nothing() {
    let mut told = Told::default();
    told.bought(1, 10_000, money(50_00)).bought(2, 1_000, money(2_00));
    told.step(false, &[(1, -4_000), (3, 4_000)], &[]).step(false, &[(2, -100), (3, 100)], &[]);
    told.step(false, &[(3, 900)], &[(Account::Water, -900)]);
    let mix = told.cost(3, Method::default());
    assert_eq!((mix.now, mix.per_kg), (money(20_20), per_kg(dec!(4.04))));
    // Stuffed into two pieces, with what stuck to the filler: the pieces bear it.
    told.step(false, &[(3, -5_000), (4, 3_000), (5, 1_800)], &[(Account::Waste, 200)]);
    assert_eq!((told.now(4), told.now(5)), (Some(Money::new(dec!(12.63))), Some(Money::new(dec!(7.58)))));
}

#[test]
fn what_the_scale_finds_costs_nothing_and_what_it_misses_leaves_its_cost() {
    let mut told = Told::default();
    told.bought(1, 1_000, money(6_00)).step(false, &[(1, 200)], &[(Account::Found, -200)]);
    assert_eq!(told.cost(1, Method::default()).per_kg, per_kg(dec!(5)));
    told.loses(1, 450, Account::Missing);
    assert_eq!(told.cost(1, Method::default()).per_kg, per_kg(dec!(8)));
}

#[test]
fn waste_bears_nothing_until_the_whole_lot_is_discarded() {
    let mut told = Told::default();
    told.bought(1, 1_000, money(6_00)).loses(1, 400, Account::Waste);
    assert_eq!(told.now(1), money(6_00));
    told.loses(1, 600, Account::Waste);
    let gone = told.cost(1, Method::default());
    assert_eq!((gone.now, gone.per_kg), (money(0), per_kg(dec!(10))));
}

#[test]
fn what_was_sold_took_its_part_of_the_cost_along() {
    let mut told = Told::default();
    told.bought(1, 1_000, money(6_00)).loses(1, 250, Account::Customer);
    assert_eq!(told.now(1), money(4_50));
    told.loses(1, 750, Account::Customer);
    assert_eq!(told.cost(1, Method::default()).per_kg, per_kg(dec!(6)));
}

#[test]
fn without_a_price_at_the_door_a_cost_is_unknown_and_not_zero() {
    let mut told = Told::default();
    told.bought(1, 1_000, None).bought(2, 1_000, money(3_00));
    told.step(false, &[(1, -500), (3, 500)], &[]).step(false, &[(2, -500), (3, 500)], &[]);
    told.cut(3, 4, 800).loses(3, 200, Account::CuttingLoss);
    for n in [1, 3, 4] {
        let cost = told.cost(n, Method::default());
        assert_eq!((cost.now, cost.per_kg), (None, None), "{n}");
        assert_eq!(cost.unpriced.iter().map(|missing| missing.lot).collect::<Vec<_>>(), [lot(1)], "{n}");
    }
    assert!(told.cost(2, Method::default()).is_known());
}

#[test]
fn a_primal_is_shared_in_its_turn_to_the_cent() {
    let mut told = Told::default();
    told.bought(1, 10_000, money(33_33)).cut(1, 2, 7_000).cut(1, 3, 2_900).loses(
        1,
        100,
        Account::CuttingLoss,
    );
    told.cut(2, 4, 3_000).cut(2, 5, 3_000).cut(2, 6, 900).loses(2, 100, Account::CuttingLoss);
    let parts: Money = [3, 4, 5, 6].into_iter().filter_map(|n| told.now(n)).sum();
    assert_eq!(parts, Money::cents(33_33));
}

#[test]
fn by_sales_value_a_cut_without_a_sales_price_brings_the_source_back_to_weight() {
    let by_value = Method { by: By::SalesValue, by_products_first: false };
    let mut told = Told::default();
    told.bought(1, 9_000, money(40_00)).cut(1, 2, 6_000).cut(1, 3, 3_000);
    told.about(lot(2)).sales_price = per_kg(dec!(2));
    assert_eq!(told.cost(2, by_value).now, money(26_67));
    told.about(lot(3)).sales_price = per_kg(dec!(12));
    // Values 12.00 and 36.00 of 48.00.
    assert_eq!((told.cost(2, by_value).now, told.cost(3, by_value).now), (money(10_00), money(30_00)));
}

#[test]
fn by_products_are_taken_off_first_where_the_shop_does_so() {
    let first = Method { by: By::Weight, by_products_first: true };
    let mut told = Told::default();
    told.bought(1, 9_000, money(40_00)).cut(1, 2, 6_000).cut(1, 3, 3_000);
    told.about(lot(3)).by_product = true;
    told.about(lot(3)).sales_price = per_kg(dec!(0.5));
    assert_eq!((told.cost(2, first).now, told.cost(3, first).now), (money(38_50), money(1_50)));
    assert_eq!(told.cost(3, Method::default()).now, money(13_33));
}

#[test]
fn a_source_of_nothing_but_by_products_is_shared_by_weight() {
    let bones = [(Grams::whole(1_000), per_kg(dec!(0.1)), true), (Grams::whole(3_000), None, true)];
    let (by, carried) =
        share_over_cuts(Money::cents(8_00), &bones, Method { by: By::SalesValue, by_products_first: true });
    assert_eq!(by, By::Weight);
    assert_eq!(carried.iter().map(|c| c.cost).collect::<Vec<_>>(), [Money::cents(2_00), Money::cents(6_00)]);
}

proptest! {
    #[test]
    fn the_cuts_of_a_closed_source_carry_its_price_to_the_cent(
        cuts in prop::collection::vec((1_i64..20_000, prop::option::of(1_i64..3_000), any::<bool>()), 1..14),
        loss in 0_i64..3_000, price in 0_i64..100_000, by_value in any::<bool>(), first in any::<bool>(),
    ) {
        let mut told = Told::default();
        let whole: i64 = cuts.iter().map(|(grams, _, _)| *grams).sum::<i64>() + loss;
        told.bought(1, whole, money(price));
        for (n, (grams, sells, by_product)) in (2..).zip(&cuts) {
            told.cut(1, n, *grams);
            let about = told.about(lot(n));
            about.sales_price = sells.map(|cents| PricePerKg::new(Decimal::new(cents, 2)));
            about.by_product = *by_product;
        }
        if loss > 0 {
            told.loses(1, loss, Account::CuttingLoss);
        }
        let by = if by_value { By::SalesValue } else { By::Weight };
        let method = Method { by, by_products_first: first };
        let sum: Money = (2..).zip(&cuts).filter_map(|(n, _)| told.cost(n, method).now).sum();
        prop_assert_eq!(sum, Money::cents(price));
    }
}
