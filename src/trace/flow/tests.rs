//! A small shop in movements: two carcasses, a bin of trim, a batch, salami.

use proptest::prelude::*;
use rust_decimal::Decimal;
use time::macros::datetime;
use uuid::Uuid;

use super::*;
use crate::book::Effects;
use crate::measure::Percent;

const FARM: Uuid = Uuid::from_u128(900);
const LARDER: Uuid = Uuid::from_u128(901);

fn lot(n: u128) -> LotId {
    LotId(Uuid::from_u128(n))
}

fn kilos(n: i64) -> Grams {
    Grams::whole(n * 1000)
}

fn step(seq: i64, effects: Effects) -> Step {
    assert!(effects.imbalance().is_zero(), "step {seq} does not balance");
    Step { seq: Seq(seq), at: datetime!(2026-11-24 09:40 UTC), movements: effects.movements }
}

fn received(seq: i64, n: u128, grams: Grams) -> Step {
    step(seq, Effects::none().account(Account::Supplier, Some(FARM), -grams).give(lot(n), grams))
}

fn moved(seq: i64, from: u128, to: u128, grams: Grams) -> Step {
    step(seq, Effects::none().take(lot(from), grams).give(lot(to), grams))
}

/// Carcasses 1 and 2; 3 kg of 1 and 1 kg of 2 into the bin 3; all of it into the mix 4 with 1 kg of salt 5; the mix is
/// stuffed into 6 and 7; 6 dries by a kilo and goes to a customer.
fn salami() -> Vec<Step> {
    vec![
        received(1, 1, kilos(10)),
        received(2, 2, kilos(10)),
        received(3, 5, kilos(25)),
        moved(4, 1, 3, kilos(3)),
        moved(5, 2, 3, kilos(1)),
        moved(6, 3, 4, kilos(4)),
        moved(7, 5, 4, kilos(1)),
        step(8, Effects::none().take(lot(4), kilos(5)).give(lot(6), kilos(3)).give(lot(7), kilos(2))),
        step(9, Effects::none().take(lot(6), kilos(1)).account(Account::Drying, None, kilos(1))),
        step(10, Effects::none().take(lot(6), kilos(2)).account(Account::Customer, Some(LARDER), kilos(2))),
    ]
}

fn of_gram(grams: i128) -> Parts {
    grams * 100 * PER_HUNDREDTH
}

fn total_out(flow: &Flow) -> Parts {
    flow.held.values().sum::<Parts>() + flow.went.values().sum::<Parts>()
}

#[test]
fn the_grams_of_a_carcass_are_found_again_to_the_last_one() {
    let flow = forward(&salami(), &[lot(1)].into());
    assert_eq!(flow.came_in.values().sum::<Parts>(), of_gram(10_000));
    assert_eq!(total_out(&flow), of_gram(10_000));
    // 3 of the 5 kg in the mix are of this carcass; a fifth of the drying and of the dispatch is the salt's.
    assert_eq!(flow.went[&(Account::Drying, None)], of_gram(600));
    assert_eq!(flow.went[&(Account::Customer, Some(LARDER))], of_gram(1_200));
    assert_eq!(flow.held[&lot(7)], of_gram(1_200));
    assert_eq!(flow.held[&lot(1)], of_gram(7_000));
}

#[test]
fn every_descendant_of_a_mix_is_in_scope_and_its_share_is_a_share() {
    let flow = forward(&salami(), &[lot(1)].into());
    let reached: Vec<LotId> = flow.reached.keys().copied().collect();
    assert_eq!(reached, [1, 3, 4, 6, 7].map(lot));
    let mix = flow.reached[&lot(4)];
    assert!(mix.is_mixed());
    assert_eq!((mix.share(), mix.grams()), (kilos(3), kilos(5)));
    assert_eq!(Percent::of(mix.share(), mix.grams()).text(), "60.0 %");
    assert!(!flow.reached[&lot(1)].is_mixed());
}

#[test]
fn what_went_to_a_customer_is_named_with_its_line_and_its_share() {
    let flow = forward(&salami(), &[lot(1)].into());
    let sent = flow.sent[0];
    assert_eq!((sent.seq, sent.lot, sent.customer), (Seq(10), lot(6), Some(LARDER)));
    assert_eq!((sent.grams, sent.of_source), (kilos(2), of_gram(1_200)));
}

#[test]
fn a_carcass_that_came_into_the_bin_in_the_afternoon_is_not_in_the_salami_of_the_morning() {
    let mut steps = salami();
    steps.push(received(11, 8, kilos(10)));
    steps.push(moved(12, 8, 3, kilos(2)));
    let flow = forward(&steps, &[lot(8)].into());
    assert_eq!(flow.reached.keys().copied().collect::<Vec<_>>(), [lot(3), lot(8)]);
    assert!(!back(&steps, &[lot(6)].into()).contains_key(&(Side::Lot(lot(8)), Side::Lot(lot(3)))));
}

#[test]
fn what_lay_in_the_bin_before_counts_in_the_share() {
    let flow = forward(&salami(), &[lot(2)].into());
    let bin = flow.reached[&lot(3)];
    assert_eq!((bin.share(), bin.grams()), (kilos(1), kilos(4)));
}

#[test]
fn a_supplier_is_all_his_lots_at_once() {
    let flow = forward(&salami(), &[lot(1), lot(2), lot(5)].into());
    assert_eq!(flow.came_in, [(Side::Account(Account::Supplier, Some(FARM)), of_gram(45_000))].into());
    assert_eq!(total_out(&flow), of_gram(45_000));
    assert!(!flow.reached[&lot(6)].is_mixed());
}

#[test]
fn a_gain_on_the_source_is_not_hidden_and_one_on_a_piece_is_not_the_sources() {
    let mut steps = salami();
    let gain =
        |seq, n| step(seq, Effects::none().account(Account::Found, None, -kilos(1)).give(lot(n), kilos(1)));
    steps.push(gain(11, 1));
    steps.push(gain(12, 7));
    let flow = forward(&steps, &[lot(1)].into());
    assert_eq!(flow.came_in[&Side::Account(Account::Found, None)], of_gram(1_000));
    assert_eq!(total_out(&flow), of_gram(11_000));
    assert_eq!(flow.held[&lot(7)], of_gram(1_200));
}

#[test]
fn back_from_a_piece_stand_both_carcasses_the_salt_and_the_farm() {
    let links = back(&salami(), &[lot(6)].into());
    let from: BTreeSet<Side> = links.keys().map(|(from, _)| *from).collect();
    let farm = Side::Account(Account::Supplier, Some(FARM));
    let expected: BTreeSet<Side> =
        [1, 2, 3, 4, 5].map(|n| Side::Lot(lot(n))).into_iter().chain([farm]).collect();
    assert_eq!(from, expected);
    assert_eq!(links[&(Side::Lot(lot(3)), Side::Lot(lot(4)))], hundredths(kilos(4)));
    assert_eq!(links[&(Side::Lot(lot(4)), Side::Lot(lot(6)))], hundredths(kilos(3)));
}

#[test]
fn a_lot_that_was_overdrawn_by_a_line_struck_later_still_balances() {
    // Without its struck filling, the bin gives a kilo before it holds one.
    let steps = [received(1, 1, kilos(2)), moved(2, 3, 4, kilos(1)), moved(3, 1, 3, kilos(2))];
    let flow = forward(&steps, &[lot(1)].into());
    assert_eq!(total_out(&flow), of_gram(2_000));
}

proptest! {
    /// Any sequence of transfers among a dozen lots, with odd weights and several sides, loses and makes nothing.
    #[test]
    fn the_sum_is_the_delivery(
        moves in prop::collection::vec((0_u128..12, 0_u128..12, 0_u128..14, 1_i64..100_000), 1..60),
        source in 0_u128..12,
    ) {
        let mut held: BTreeMap<u128, i64> = BTreeMap::new();
        let mut steps = Vec::new();
        for (seq, n) in (1..).zip(0_u128..12) {
            steps.push(received(seq, n, Grams::new(Decimal::new(123_457, 2))));
            held.insert(n, 123_457);
        }
        for (seq, (a, b, to, weight)) in (100..).zip(moves) {
            if a == b || to == a || to == b { continue; }
            let (first, second) = (weight.min(held[&a]), (weight / 3).min(held[&b]));
            if first + second == 0 { continue; }
            let weigh = |n| Grams::new(Decimal::new(n, 2));
            let half = i64::midpoint(first, second);
            let rest = first + second - half;
            let effects = Effects::none().take(lot(a), weigh(first)).take(lot(b), weigh(second));
            let effects = match to {
                12 => effects.account(Account::Drying, None, weigh(first + second)),
                13 => effects.account(Account::Customer, Some(LARDER), weigh(first + second)),
                _ => {
                    *held.entry(to).or_default() += rest;
                    effects.account(Account::Waste, None, weigh(half)).give(lot(to), weigh(rest))
                }
            };
            *held.entry(a).or_default() -= first;
            *held.entry(b).or_default() -= second;
            steps.push(step(seq, effects));
        }
        let flow = forward(&steps, &[lot(source)].into());
        prop_assert_eq!(total_out(&flow), flow.came_in.values().sum::<Parts>());
        for (lot, parts) in &flow.held {
            prop_assert!(*parts >= 0 && *parts <= flow.reached[lot].all * PER_HUNDREDTH);
        }
        let sent: Parts = flow.sent.iter().map(|sent| sent.of_source).sum();
        prop_assert_eq!(sent, flow.went.get(&(Account::Customer, Some(LARDER))).copied().unwrap_or_default());
    }
}
