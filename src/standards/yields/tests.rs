use proptest::prelude::*;

use super::*;
use crate::standards::figure::{dec, printed};

fn grams(text: &str) -> Grams {
    Grams::new(dec(text))
}

/// A published weight in pounds, a thousand grams standing for each: yields are ratios, and nothing is rounded
/// that the publication did not round.
fn pounds(text: &str) -> Grams {
    Grams::new(dec(text) * dec("1000"))
}

fn of_source(got: &str, from: &str, places: u32) -> String {
    let got = yielded(pounds(got), pounds(from), Basis::SourceLot).expect("a source");
    printed(got.percent.decimal(), places)
}

/// Cut-out of a 184 lb carcass from a 250 lb hog, as published by a state university extension and a pork
/// producers' council.
const CUT_OUT: [(&str, &str, &[&str]); 6] = [
    ("ham", "45.0", &["25.5", "2.3", "5.8", "11.4"]),
    ("side", "34.9", &["19.0", "5.8", "9.1", "1.0"]),
    ("loin", "33.8", &["3.2", "10.7", "7.6", "5.7", "1.6", "1.6", "3.4"]),
    ("picnic", "16.6", &["12.6", "4.0"]),
    ("butt", "14.7", &["4.4", "7.8", "1.7", "0.8"]),
    ("other", "39.2", &["15.4", "22.0", "1.8"]),
];

#[test]
fn a_hog_of_250_pounds_that_hangs_at_184_dresses_at_73_6_per_cent() {
    let dressed = dressing(pounds("184"), pounds("250")).expect("a hog");
    assert_eq!(printed(dressed.percent.decimal(), 1), "73.6");
    assert_eq!(dressed.basis.words(), "of the live weight");
}

#[test]
fn the_cut_out_of_a_184_pound_carcass_shows_its_gain_of_a_fifth_of_a_pound() {
    let primals: Vec<Grams> = CUT_OUT.iter().map(|(_, weight, _)| pounds(weight)).collect();
    let change = cutting_change(pounds("184"), &primals).expect("a carcass");
    assert_eq!(change.words(), "gain");
    assert_eq!(change.grams(), pounds("0.2"));
    assert_eq!(change.loss(), pounds("-0.2"));
    assert_eq!(printed(change.percent().decimal(), 2), "0.11");
}

#[test]
fn every_primal_of_that_carcass_is_the_sum_of_its_cuts() {
    for (primal, weight, cuts) in CUT_OUT {
        let cuts: Vec<Grams> = cuts.iter().map(|cut| pounds(cut)).collect();
        let change = cutting_change(pounds(weight), &cuts).expect("a primal");
        assert_eq!(change.words(), "unchanged", "{primal}");
    }
}

#[test]
fn a_quarter_of_that_carcass_is_ham() {
    assert_eq!(of_source("45.0", "184", 2), "24.46");
}

#[test]
fn a_180_pound_carcass_that_goes_home_as_144_pounds_loses_a_fifth() {
    // State extension brochure: ham, loin, side, ribs, butt, picnic, feet, head, back fat, trim, jowl.
    let home = ["28", "23", "23", "6", "9", "12", "3", "5", "23", "9", "3"].map(pounds);
    let change = cutting_change(pounds("180"), &home).expect("a carcass");
    assert_eq!((change.words(), change.grams()), ("loss", pounds("36")));
    assert_eq!(change.percent(), Percent::new(dec("20")));
}

#[test]
fn a_boneless_butt_comes_out_of_its_published_cutting_test() {
    // A published cutting test: 15.91 lb in, bone 1.10, scrap 0.79, boneless 14.02.
    assert_eq!(of_source("14.02", "15.91", 2), "88.12");
    let parts = ["1.10", "0.79", "14.02"].map(pounds);
    assert_eq!(cutting_change(pounds("15.91"), &parts).expect("a butt").words(), "unchanged");
}

#[test]
fn a_striploin_costs_more_by_the_usable_kilo_than_it_was_bought_for() {
    // Cook's trade arithmetic, open textbook: 5.2 kg at 11.95/kg, 4.6 kg usable.
    let striploin = CuttingTest::new(grams("5200"), grams("4600")).expect("a striploin");
    assert_eq!(printed(striploin.usable_yield().percent.decimal(), 2), "88.46");
    assert_eq!(printed(striploin.usable_price(PricePerKg::new(dec("11.95"))).decimal(), 2), "13.51");
}

#[test]
fn eighty_five_portions_of_170_grams_want_16_33_kilos_bought() {
    // Cook's trade arithmetic, open textbook, on the striploin above.
    let striploin = CuttingTest::new(grams("5200"), grams("4600")).expect("a striploin");
    let usable = portions(85, grams("170")).expect("portions");
    assert_eq!(usable, grams("14450"));
    let bought = striploin.to_buy(usable).expect("a weight");
    assert_eq!(printed(bought.decimal() / dec("1000"), 2), "16.33");
}

#[test]
fn trimming_curing_and_slicing_multiply() {
    // Arithmetic: 0.9 × 0.65 × 0.95.
    let steps = ["90", "65", "95"].map(|step| Percent::new(dec(step)));
    assert_eq!(one_after_the_other(&steps), Ok(Percent::new(dec("55.575"))));
    assert_eq!(one_after_the_other(&[]), Ok(Percent::new(dec("100"))));
}

#[test]
fn a_ham_pumped_from_5_670_to_6_237_grams_took_ten_per_cent() {
    // Published form: 567 g injected into 5,670 g.
    assert_eq!(percent_pump(grams("5670"), grams("6237")), Ok(Percent::new(dec("10"))));
}

#[test]
fn a_pumped_piece_may_yield_more_than_its_green_weight() {
    let pumped = yielded(grams("1100"), grams("1000"), Basis::GreenWeight).expect("a piece");
    assert_eq!(pumped, Yield { percent: Percent::new(dec("110")), basis: Basis::GreenWeight });
}

#[test]
fn a_yield_of_nothing_is_refused() {
    let what = "weight that it is a share of";
    assert_eq!(yielded(grams("1"), grams("0"), Basis::SourceLot), Err(BadFigure::NoBase { what }));
    assert_eq!(dressing(grams("1"), grams("-1")), Err(BadFigure::NoBase { what }));
    assert_eq!(cutting_change(grams("0"), &[]), Err(BadFigure::NoBase { what: "source" }));
    assert_eq!(percent_pump(grams("0"), grams("1")), Err(BadFigure::NoBase { what: "green weight" }));
    let test = CuttingTest::new(grams("10"), grams("0"));
    assert_eq!(test, Err(BadFigure::NoBase { what: "usable weight" }));
}

#[test]
fn weights_that_cannot_be_are_refused() {
    let minus = grams("-1");
    assert_eq!(yielded(minus, grams("1"), Basis::SourceLot), Err(BadFigure::Negative { what: "weight" }));
    assert_eq!(cutting_change(grams("9"), &[minus]), Err(BadFigure::Negative { what: "cut" }));
    assert_eq!(portions(3, minus), Err(BadFigure::Negative { what: "portion" }));
    let steps = [Percent::new(dec("-1"))];
    assert_eq!(one_after_the_other(&steps), Err(BadFigure::Negative { what: "yield of a step" }));
    let part_over_whole = |part, whole| BadFigure::PartOverWhole { part, whole };
    assert_eq!(dressing(grams("2"), grams("1")), Err(part_over_whole("carcass", "live animal")));
    assert_eq!(percent_pump(grams("2"), grams("1")), Err(part_over_whole("green meat", "treated meat")));
    let test = CuttingTest::new(grams("1"), grams("2"));
    assert_eq!(test, Err(part_over_whole("usable meat", "weight bought")));
}

proptest! {
    #[test]
    fn what_was_cut_and_what_was_lost_are_the_source_to_the_hundredth_of_a_gram(
        source in 1_i64..50_000_000, cuts in proptest::collection::vec(0_i64..5_000_000, 0..14),
    ) {
        let source = Grams::new(Decimal::new(source, 2));
        let cuts: Vec<Grams> = cuts.into_iter().map(|cut| Grams::new(Decimal::new(cut, 2))).collect();
        let sum: Decimal = cuts.iter().map(|cut| cut.decimal()).sum();
        let change = cutting_change(source, &cuts).unwrap();
        prop_assert_eq!(sum + change.loss().decimal(), source.decimal());
        prop_assert_eq!(change.is_gain(), sum > source.decimal());
    }

    #[test]
    fn the_yields_of_all_cuts_and_the_loss_are_the_whole_source(
        cuts in proptest::collection::vec(1_i64..5_000_000, 1..14), lost in 0_i64..1_000_000,
    ) {
        let cuts: Vec<Grams> = cuts.into_iter().map(|cut| Grams::new(Decimal::new(cut, 2))).collect();
        let sum: Decimal = cuts.iter().map(|cut| cut.decimal()).sum();
        let source = Grams::new(sum + Decimal::new(lost, 2));
        let mut whole = cutting_change(source, &cuts).unwrap().loss_percent().decimal();
        for cut in &cuts {
            whole += yielded(*cut, source, Basis::SourceLot).unwrap().percent.decimal();
        }
        // Each figure is rounded by itself, so fifteen of them may be off by fifteen roundings.
        prop_assert!((whole - dec("100")).abs() < dec("0.001"));
    }
}
