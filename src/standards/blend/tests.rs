use proptest::prelude::*;

use super::*;
use crate::standards::figure::{dec, printed};

fn percent(text: &str) -> Percent {
    Percent::new(dec(text))
}

fn bin(on_hand: &str, lean: &str) -> Bin {
    Bin { on_hand: Grams::new(dec(on_hand)), lean: percent(lean) }
}

fn share(a: &str, b: &str, target: &str) -> String {
    printed(
        two(percent(a), percent(b), percent(target)).expect("between the two").0 * Decimal::ONE_HUNDRED,
        2,
    )
}

fn blended(bins: &[Bin], total: &str, target: &str) -> Vec<String> {
    let weights = nearest(bins, Grams::new(dec(total)), percent(target)).expect("a blend");
    weights.into_iter().map(|weight| printed(weight, 2)).collect()
}

#[test]
fn two_bins_have_one_answer_between_them_and_none_outside() {
    assert_eq!(share("10", "25", "20"), "33.33");
    assert_eq!(share("28", "58", "35"), "76.67");
    assert_eq!(share("10", "25", "10"), "100.00");
    assert_eq!(share("10", "25", "25"), "0.00");
    assert_eq!(share("30", "30", "30"), "50.00");
    let outside = |target: &str| two(percent("10"), percent("25"), percent(target));
    assert_eq!(outside("9.9999"), Err(BadBlend::Outside { least: dec("10"), most: dec("25") }));
    assert!(outside("25.0001").is_err());
    assert!(two(percent("101"), percent("25"), percent("30")).is_err());
}

#[test]
fn two_bins_by_least_change_are_the_two_bins_exactly() {
    let bins = [bin("1000", "10"), bin("1000", "25")];
    assert_eq!(blended(&bins, "1000", "20"), ["333.33", "666.67"]);
}

#[test]
fn bins_that_stand_at_the_target_are_taken_as_they_stand() {
    let bins = [bin("1000", "80"), bin("1000", "50"), bin("2000", "65")];
    assert_eq!(blended(&bins, "2000", "65"), ["500.00", "500.00", "1000.00"]);
    assert_eq!(blended(&bins, "4000", "65"), ["1000.00", "1000.00", "2000.00"]);
}

#[test]
fn a_bin_that_would_run_over_is_emptied_and_the_others_make_it_up() {
    let bins = [bin("100", "90"), bin("1000", "70"), bin("1000", "40")];
    let weights = nearest(&bins, Grams::whole(1000), percent("70")).expect("a blend");
    assert!(weights.iter().zip(&bins).all(|(weight, bin)| *weight <= bin.on_hand.decimal()));
    assert_eq!(printed(weights[0], 2), "100.00");
    assert_eq!(printed(lean_of(&bins, &weights).expect("a weight"), 6), "70.000000");
}

#[test]
fn what_the_bins_cannot_make_says_what_they_can() {
    let bins = [bin("300", "90"), bin("1000", "50")];
    assert_eq!(
        nearest(&bins, Grams::whole(1000), percent("63")),
        Err(BadBlend::Outside { least: dec("50"), most: dec("62") })
    );
    assert_eq!(blended(&bins, "1000", "62"), ["300.00", "700.00"]);
    assert_eq!(
        nearest(&bins, Grams::whole(1301), percent("60")),
        Err(BadBlend::NotEnough { on_hand: Grams::whole(1300) })
    );
    assert_eq!(nearest(&bins[..1], Grams::whole(1), percent("90")), Err(BadBlend::TooFew));
    assert_eq!(nearest(&[bins[0]; 9], Grams::whole(1), percent("90")), Err(BadBlend::TooMany));
    assert!(nearest(&bins, Grams::ZERO, percent("60")).is_err());
    assert!(nearest(&[bin("0", "90"), bin("1", "50")], Grams::whole(1), percent("60")).is_err());
    assert_eq!(lean_of(&[], &[]), None);
}

prop_compose! {
    fn any_bin()(on_hand in 100_i64..5_000_000, lean in 0_i64..=10_000) -> Bin {
        Bin { on_hand: Grams::new(Decimal::new(on_hand, 2)), lean: Percent::new(Decimal::new(lean, 2)) }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn a_blend_hits_its_target_and_no_bin_is_exceeded(
        bins in prop::collection::vec(any_bin(), 2..5), part in 1_i64..=100, along in 0_i64..=100,
    ) {
        let on_hand: Decimal = bins.iter().map(|bin| bin.on_hand.decimal()).sum();
        let total = Grams::new(on_hand * Decimal::new(part, 2));
        let total = Grams::new(total.decimal().min(on_hand));
        let plain = read(&bins).unwrap();
        let (least, most) = (extreme(&plain, total.decimal(), false), extreme(&plain, total.decimal(), true));
        let aim = (least + (most - least) * Decimal::new(along, 2)) * Decimal::ONE_HUNDRED;
        let target = Percent::new(aim.clamp(least * Decimal::ONE_HUNDRED, most * Decimal::ONE_HUNDRED));
        prop_assume!(target.fraction() >= least && target.fraction() <= most);
        let weights = nearest(&bins, total, target).unwrap();
        let sum: Decimal = weights.iter().sum();
        prop_assert!((sum - total.decimal()).abs() < dec("0.00001"));
        let lean = lean_of(&bins, &weights).unwrap();
        prop_assert!((lean - target.decimal()).abs() < dec("0.0001"));
        for (weight, bin) in weights.iter().zip(&bins) {
            prop_assert!(*weight >= Decimal::ZERO && *weight <= bin.on_hand.decimal());
        }
    }

    #[test]
    fn a_blend_of_twice_as_much_out_of_twice_as_much_is_twice_the_blend(a in any_bin(), b in any_bin(), c in any_bin()) {
        let bins = [a, b, c];
        let on_hand: Grams = bins.iter().map(|bin| bin.on_hand).sum();
        let total = Grams::new(on_hand.decimal() / Decimal::TWO);
        let plain = read(&bins).unwrap();
        let (least, most) = (extreme(&plain, total.decimal(), false), extreme(&plain, total.decimal(), true));
        let target = Percent::new((least + most) / Decimal::TWO * Decimal::ONE_HUNDRED);
        prop_assume!(target.fraction() >= least && target.fraction() <= most);
        let once = nearest(&bins, total, target).unwrap();
        let doubled = bins.map(|bin| Bin { on_hand: bin.on_hand + bin.on_hand, ..bin });
        let twice = nearest(&doubled, total + total, target).unwrap();
        for (once, twice) in once.iter().zip(&twice) {
            prop_assert!((*twice - *once - *once).abs() < dec("0.00001"));
        }
    }
}
