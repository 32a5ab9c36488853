use proptest::prelude::*;
use rust_decimal::dec;

use super::*;

fn cure(weight: Decimal, nitrite: Decimal) -> Put {
    Put { weight, brings: Brings { nitrite: Percent::new(nitrite), ..Brings::NOTHING } }
}

fn plain(weight: Decimal) -> Put {
    Put { weight, brings: Brings::NOTHING }
}

fn goes_in(curing: Curing, meat: Decimal, puts: &[Put]) -> GoesIn {
    GoesIn::new(curing, meat, puts, None).expect("figures")
}

fn ppm(goes_in: &GoesIn) -> Decimal {
    goes_in.figure(Substance::Nitrite, StatedAs::SodiumNitrite, Base::ByMethod).exact().normalize()
}

fn pumped(pump: Decimal) -> Curing {
    Curing { pump: Percent::new(pump), ..Curing::plain(Way::Pumped) }
}

#[test]
fn the_handbooks_brine_is_145_ppm_at_a_tenth_of_the_meat() {
    // FSIS Directive 7620.3, arithmetic on its form for pumping: 2 parts of a 0.75 % cure to 8.33 parts of water.
    let puts = [cure(dec!(2), dec!(0.75)), plain(dec!(8.33))];
    assert_eq!(ppm(&goes_in(pumped(dec!(10)), dec!(100), &puts)).round_dp(1), dec!(145.2));
}

#[test]
fn pump_and_cover_pickle_both_count() {
    let puts = [cure(dec!(2), dec!(0.75)), plain(dec!(8.33))];
    let both = Curing { pick_up: Percent::new(dec!(4)), way: Way::PumpedAndCovered, ..pumped(dec!(10)) };
    let (alone, together) = (goes_in(pumped(dec!(10)), dec!(100), &puts), goes_in(both, dec!(100), &puts));
    assert_eq!(ppm(&together).round_dp(10), (ppm(&alone) * dec!(1.4)).round_dp(10));
}

#[test]
fn what_was_really_pumped_in_tells_the_pump() {
    // 1,000 g of pickle with 1 g of nitrite in it, 500 g of it pumped into 5,000 g.
    let puts = [cure(dec!(1), dec!(100)), plain(dec!(999))];
    let really =
        GoesIn::new(pumped(dec!(8)), dec!(5000), &puts, Some((dec!(500), dec!(500)))).expect("figures");
    assert_eq!(ppm(&really), dec!(100));
}

#[test]
fn a_hundred_and_twenty_of_the_sodium_salt_are_148_of_the_potassium_salt() {
    let puts = [cure(dec!(0.12), dec!(100))];
    let goes_in = goes_in(Curing::plain(Way::DryCured), dec!(1000), &puts);
    let figure = goes_in.figure(Substance::Nitrite, StatedAs::PotassiumNitrite, Base::GreenWeight);
    // 9 CFR 424.22(b): 120 ppm sodium nitrite, or 148 ppm potassium nitrite.
    assert_eq!(figure.exact().round_dp(1), dec!(148.0));
}

#[test]
fn a_potassium_salt_counts_by_its_own_weight_or_as_the_other() {
    let potassium = Brings { nitrite_salt: Alkali::Potassium, nitrite: Percent::HUNDRED, ..Brings::NOTHING };
    let puts = [Put { weight: dec!(0.085104), brings: potassium }, cure(dec!(0.068995), dec!(100))];
    let goes_in = goes_in(Curing::plain(Way::DryCured), dec!(1000), &puts);
    let of = |stated| goes_in.figure(Substance::Nitrite, stated, Base::GreenWeight).exact().normalize();
    assert_eq!(of(StatedAs::Weighed), dec!(154.099));
    assert_eq!(of(StatedAs::SodiumNitrite), dec!(137.99));
    assert_eq!(of(StatedAs::NitriteIon), dec!(92.01));
}

#[test]
fn the_whole_batch_is_a_larger_base_than_its_meat() {
    let puts = [cure(dec!(25), dec!(6.25)), plain(dec!(975))];
    let goes_in = goes_in(Curing::plain(Way::Comminuted), dec!(9000), &puts);
    let of = |base| goes_in.figure(Substance::Nitrite, StatedAs::Weighed, base).exact().normalize();
    assert_eq!(of(Base::WholeBatch), dec!(156.25));
    assert_eq!(of(Base::MeatBlock).round_dp(2), dec!(173.61));
}

#[test]
fn ascorbate_and_its_acid_are_two_figures() {
    let brings = |what| Brings { accelerator: Some((what, Percent::HUNDRED)), ..Brings::NOTHING };
    let puts = [
        Put { weight: dec!(0.5), brings: brings(Accelerator::SodiumErythorbate) },
        Put { weight: dec!(0.1), brings: brings(Accelerator::AscorbicAcid) },
    ];
    let goes_in = goes_in(Curing::plain(Way::Comminuted), dec!(1000), &puts);
    let of = |what| goes_in.figure(what, StatedAs::Weighed, Base::MeatBlock).exact().normalize();
    assert_eq!((of(Substance::Ascorbate), of(Substance::AscorbicAcid)), (dec!(500), dec!(100)));
}

#[test]
fn what_has_to_come_out_or_go_under_it_brings_the_figure_to_its_limit() {
    let most = Ppm::new(dec!(156.25));
    let brings = cure(dec!(0), dec!(6.25)).brings;
    for (base, rest) in [(Base::MeatBlock, dec!(0)), (Base::WholeBatch, dec!(300))] {
        let over =
            goes_in(Curing::plain(Way::Comminuted), dec!(10000), &[cure(dec!(27), dec!(6.25)), plain(rest)]);
        let less =
            over.too_much_of(brings, Substance::Nitrite, StatedAs::Weighed, base, most).expect("so much");
        let right = [cure(dec!(27) - less, dec!(6.25)), plain(rest)];
        let right = goes_in(Curing::plain(Way::Comminuted), dec!(10000), &right);
        let figure = right.figure(Substance::Nitrite, StatedAs::Weighed, base);
        assert_eq!(figure.exact().round_dp(15), dec!(156.25), "{base:?}");
        let more = over.more_meat(Substance::Nitrite, StatedAs::Weighed, base, most).expect("so much");
        let right = [cure(dec!(27), dec!(6.25)), plain(rest)];
        let right = goes_in(Curing::plain(Way::Comminuted), dec!(10000) + more, &right);
        let figure = right.figure(Substance::Nitrite, StatedAs::Weighed, base);
        assert_eq!(figure.exact().round_dp(15), dec!(156.25), "{base:?}");
    }
}

#[test]
fn a_pump_over_everything_and_a_cure_over_everything_are_no_figures() {
    let puts = [cure(dec!(2), dec!(0.75)), plain(dec!(8))];
    assert!(GoesIn::new(pumped(dec!(101)), dec!(100), &puts, None).is_err());
    assert!(GoesIn::new(pumped(dec!(10)), dec!(0), &puts, None).is_err());
    assert!(GoesIn::new(pumped(dec!(10)), dec!(100), &[], None).is_err(), "no pickle");
    assert!(GoesIn::new(Curing::plain(Way::DryCured), dec!(1), &[cure(dec!(1), dec!(101))], None).is_err());
}

/// A gram and an ounce, exactly.
const OUNCE: Decimal = dec!(28.349523125);

proptest! {
    #[test]
    fn ppm_are_the_same_in_grams_and_in_ounces(cured in 1_i64..10_000, meat in 1_i64..1_000_000, most in 1_i64..100_000) {
        let (cured, meat) = (Decimal::new(cured, 2), Decimal::new(meat, 1));
        let limit = Ppm::new(Decimal::new(most, 2));
        for way in [Way::Comminuted, Way::DryCured, Way::Equilibrium] {
            let in_ounces = goes_in(Curing::plain(way), meat, &[cure(cured, dec!(6.25))]);
            let in_grams = goes_in(Curing::plain(way), meat * OUNCE, &[cure(cured * OUNCE, dec!(6.25))]);
            prop_assert_eq!(ppm(&in_ounces).round_dp(12), ppm(&in_grams).round_dp(12));
            for stated in [StatedAs::Weighed, StatedAs::NitriteIon] {
                let judged = |one: &GoesIn| one.figure(Substance::Nitrite, stated, Base::ByMethod).is_at_most(limit);
                prop_assert_eq!(judged(&in_ounces), judged(&in_grams));
            }
        }
    }

    #[test]
    fn scaling_is_linear_and_sums(one in 1_i64..10_000, other in 1_i64..10_000, by in 2_i64..50) {
        let meat = dec!(10000);
        let (one, other) = (Decimal::new(one, 2), Decimal::new(other, 2));
        let of = |puts: &[Put], meat| ppm(&goes_in(Curing::plain(Way::Comminuted), meat, puts));
        let both = of(&[cure(one, dec!(6.25)), cure(other, dec!(5.88))], meat);
        let apart = of(&[cure(one, dec!(6.25))], meat) + of(&[cure(other, dec!(5.88))], meat);
        prop_assert_eq!(both.round_dp(18), apart.round_dp(18));
        let by = Decimal::from(by);
        prop_assert_eq!(of(&[cure(one * by, dec!(6.25))], meat * by).round_dp(18), of(&[cure(one, dec!(6.25))], meat).round_dp(18));
        prop_assert_eq!(of(&[cure(one * by, dec!(6.25))], meat).round_dp(18), (of(&[cure(one, dec!(6.25))], meat) * by).round_dp(18));
    }

    #[test]
    fn no_rounding_turns_a_figure_over_a_limit_into_one_under_it(meat in 1_i64..100_000_000, step in 1_u32..10) {
        // As much as the limit allows, and the smallest step more that a person can type.
        let meat = Decimal::new(meat, 2);
        let most = Ppm::new(dec!(156.25));
        let at = meat * dec!(156.25) / MILLION;
        let past = at + Decimal::new(1, 3 + step);
        let of = |weight| {
            goes_in(Curing::plain(Way::Comminuted), meat, &[cure(weight, dec!(100))])
                .figure(Substance::Nitrite, StatedAs::Weighed, Base::MeatBlock)
        };
        prop_assert!(of(at).is_at_most(most) && of(at).is_at_least(most));
        prop_assert!(!of(past).is_at_most(most));
    }
}
