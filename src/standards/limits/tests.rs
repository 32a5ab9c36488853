use std::collections::BTreeSet;

use rust_decimal::{Decimal, dec};
use time::macros::date;

use super::super::ingoing::{Brings, Curing, Put};
use super::*;
use crate::measure::Percent;

fn set(of: Jurisdiction) -> Vec<Limit> {
    shipped(of).expect("a list that reads").limits
}

fn named(of: Jurisdiction, key: &str) -> Limit {
    set(of).into_iter().find(|limit| limit.key == key).expect("a limit of this name")
}

/// So many grams of pure nitrite, in a way that needs no pickle, on so much meat.
fn nitrite(way: Way, grams: Decimal, meat: Decimal) -> GoesIn {
    let brings = Brings { nitrite: Percent::HUNDRED, ..Brings::NOTHING };
    GoesIn::new(Curing::plain(way), meat, &[Put { weight: grams, brings }], None).expect("figures")
}

#[test]
fn every_shipped_limit_has_a_name_of_its_own_an_end_and_a_citation() {
    let mut keys = BTreeSet::new();
    for of in Jurisdiction::ALL {
        let set = shipped(*of).expect("a list that reads");
        assert_eq!(set.jurisdiction, *of);
        for limit in set.limits {
            assert!(limit.least.is_some() || limit.most.is_some(), "{}", limit.key);
            assert!(!limit.citation.is_empty() && !limit.name.is_empty(), "{}", limit.key);
            assert!(limit.mark == Mark::Read || limit.citation.contains("to be confirmed"), "{}", limit.key);
            assert!(keys.insert(limit.key.clone()), "{} twice", limit.key);
        }
    }
}

#[test]
fn exactly_at_the_limit_is_met_and_the_smallest_step_past_it_is_not() {
    let limit = named(Jurisdiction::UnitedStates, "us-comminuted-nitrite");
    // 1/4 oz to 100 lb, in ounces: 1,600 oz of meat.
    let at = nitrite(Way::Comminuted, dec!(0.25), dec!(1600));
    assert_eq!(limit.judge(limit.figure(&at)), Stands::Within);
    let past = nitrite(Way::Comminuted, dec!(0.250000000001), dec!(1600));
    assert_eq!(limit.judge(limit.figure(&past)), Stands::Over);
    // The figure of the last one prints as the limit does; the judge does not round.
    assert_eq!(limit.figure(&past).ppm(), limit.most.expect("a most"));
}

#[test]
fn the_european_limit_changed_on_a_day_and_is_stated_as_the_ion() {
    let all = set(Jurisdiction::EuropeanUnion);
    let on = |day| -> Vec<String> {
        let found = in_force(&all, day, |_| false);
        found
            .filter(|limit| {
                limit.measured == Measured::Ingoing && limit.holds_for(Way::Comminuted, Product::Other)
            })
            .map(|limit| limit.key.clone())
            .collect()
    };
    assert_eq!(on(date!(2025 - 10 - 08)), ["eu-nitrite-before"]);
    assert_eq!(on(date!(2025 - 10 - 09)), ["eu-nitrite"]);
    // 119.97 ppm of NaNO2 are 79.995 ppm of NO2; 120 are 80.015.
    let limit = named(Jurisdiction::EuropeanUnion, "eu-nitrite");
    let under = nitrite(Way::DryCured, dec!(0.11997), dec!(1000));
    let over = nitrite(Way::DryCured, dec!(0.12), dec!(1000));
    assert_eq!(limit.judge(limit.figure(&under)), Stands::Within);
    assert_eq!(limit.judge(limit.figure(&over)), Stands::Over);
}

#[test]
fn a_limit_from_memory_and_a_minimum_wait_until_the_shop_switches_them_on() {
    let all = set(Jurisdiction::GreatBritain);
    let day = date!(2026 - 11 - 24);
    assert_eq!(in_force(&all, day, |_| false).count(), 0);
    assert_eq!(in_force(&all, day, |key| key == "gb-nitrite").count(), 1);
    let minimum = named(Jurisdiction::UnitedStates, "us-refrigerated-minimum");
    assert!(minimum.waits());
    assert_eq!(
        minimum.judge(minimum.figure(&nitrite(Way::DryCured, dec!(0.12), dec!(1000)))),
        Stands::Within
    );
    assert_eq!(
        minimum.judge(minimum.figure(&nitrite(Way::DryCured, dec!(0.1199), dec!(1000)))),
        Stands::Below
    );
}

#[test]
fn a_confirmed_limit_cites_the_document_that_it_was_read_in() {
    let confirmed = named(Jurisdiction::GreatBritain, "gb-nitrite").confirmed("annex II, read 3 Nov 2026");
    assert!(confirmed.citation.ends_with("category 08.3; confirmed by the shop: annex II, read 3 Nov 2026"));
    let read = named(Jurisdiction::UnitedStates, "us-dry-nitrite");
    assert_eq!(read.clone().confirmed("a letter"), read);
}

#[test]
fn bacon_has_limits_of_its_own() {
    let all = set(Jurisdiction::UnitedStates);
    let of = |way, product| -> Vec<&str> {
        let found = in_force(&all, date!(2026 - 11 - 24), |_| false);
        found
            .filter(|limit| limit.measured == Measured::Ingoing && limit.holds_for(way, product))
            .map(|limit| limit.key.as_str())
            .collect()
    };
    assert_eq!(of(Way::DryCured, Product::Bacon), ["us-bacon-dry-nitrite", "us-bacon-nitrate"]);
    assert_eq!(of(Way::DryCured, Product::Other), ["us-dry-nitrite", "us-dry-nitrate"]);
    assert_eq!(
        of(Way::PumpedAndCovered, Product::Bacon),
        ["us-bacon-pumped-nitrite", "us-bacon-nitrate", "us-bacon-ascorbate"]
    );
}

#[test]
fn a_word_reads_back() {
    assert!(Way::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
    assert!(Jurisdiction::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
    assert!(StatedAs::ALL.iter().all(|one| one.word().parse() == Ok(*one)));
}
