//! Check values marked "published form" are arithmetic on the forms of FSIS Directive 7620.3. The regulation's
//! own words ("1/4 ounce to 100 pounds") are those of 9 CFR 424.21(c).

use proptest::prelude::*;

use super::*;
use crate::measure::WeightUnit;
use crate::standards::figure::{dec, printed};

fn grams(text: &str) -> Decimal {
    dec(text)
}

fn ounces(text: &str) -> Decimal {
    dec(text) * WeightUnit::Ounce.grams()
}

fn pounds(text: &str) -> Decimal {
    dec(text) * WeightUnit::Pound.grams()
}

fn percent(text: &str) -> Percent {
    Percent::new(dec(text))
}

fn strength(no2: &str, no3: &str) -> Strength {
    Strength { nitrite: percent(no2), nitrate: percent(no3) }
}

fn cure(weight: Decimal, no2: &str, no3: &str) -> Cure {
    Cure::new(weight, strength(no2, no3)).expect("a cure written in a test")
}

fn pure_nitrite(weight: Decimal) -> Cure {
    cure(weight, "100", "0")
}

fn pure_nitrate(weight: Decimal) -> Cure {
    cure(weight, "0", "100")
}

fn nitrite_ppm(cures: &[Cure], way: Cured, places: u32) -> String {
    printed(nitrite(cures, way).expect("a base above zero").exact, places)
}

fn nitrate_ppm(cures: &[Cure], way: Cured, places: u32) -> String {
    printed(nitrate(cures, way).expect("a base above zero").exact, places)
}

#[test]
fn nitrite_weighed_onto_a_meat_block_is_parts_per_million_of_it() {
    let block = Cured::Comminuted { meat_block: grams("5000") };
    // Published form.
    assert_eq!(nitrite_ppm(&[pure_nitrite(grams("1"))], block, 2), "200.00");
    assert_eq!(nitrite_ppm(&[pure_nitrite(grams("0.750"))], block, 2), "150.00");
}

#[test]
fn a_cure_counts_at_the_strength_of_its_lot() {
    let kilo = Cured::Dry { green: grams("1000") };
    // Published form.
    assert_eq!(nitrite_ppm(&[cure(grams("30"), "0.6", "0")], kilo, 2), "180.00");
    assert_eq!(nitrite_ppm(&[cure(grams("7.8"), "6.25", "0")], kilo, 2), "487.50");
    // One recipe of the same cure gives one part in seventeen (common practice): a lower figure.
    assert_eq!(nitrite_ppm(&[cure(grams("7.8"), "5.88", "0")], kilo, 2), "458.64");
}

#[test]
fn the_regulations_ounces_to_a_hundred_pounds_come_out_at_its_stated_ppm() {
    let block = Cured::Comminuted { meat_block: pounds("100") };
    let green = Cured::Dry { green: pounds("100") };
    // 9 CFR 424.21(c): 1/4 oz and 2 3/4 oz comminuted, 1 oz and 3 1/2 oz dry cured, to 100 lb.
    assert_eq!(nitrite_ppm(&[pure_nitrite(ounces("0.25"))], block, 2), "156.25");
    assert_eq!(nitrate_ppm(&[pure_nitrate(ounces("2.75"))], block, 2), "1718.75");
    assert_eq!(nitrite_ppm(&[pure_nitrite(ounces("1"))], green, 2), "625.00");
    assert_eq!(nitrate_ppm(&[pure_nitrate(ounces("3.5"))], green, 2), "2187.50");
    // Published form.
    assert_eq!(nitrite_ppm(&[cure(ounces("4"), "6.25", "0")], block, 2), "156.25");
    assert_eq!(nitrite_ppm(&[pure_nitrite(ounces("0.32"))], block, 1), "200.0");
}

#[test]
fn the_regulations_pounds_to_a_hundred_gallons_come_out_at_its_stated_ppm() {
    // 9 CFR 424.21(c): 2 lb of nitrite, 7 lb of nitrate, to 100 gal at 10 % pump; pickle counted at 10 lb/gal.
    let pumped = Cured::Pumped { pickle: pounds("1000"), pump: percent("10") };
    assert_eq!(nitrite_ppm(&[pure_nitrite(pounds("2"))], pumped, 2), "200.00");
    assert_eq!(nitrate_ppm(&[pure_nitrate(pounds("7"))], pumped, 2), "700.00");
}

#[test]
fn a_pumped_piece_is_reckoned_on_the_whole_pickle_dry_ingredients_included() {
    // Published form: 567 g into 5,670 g, brine of 2 parts cure (0.75 % nitrite) to 8.33 parts water.
    let into_the_meat = dec("567") * dec("2") / dec("10.33");
    assert_eq!(printed(into_the_meat, 2), "109.78");
    assert_eq!(printed(into_the_meat * dec("0.0075"), 4), "0.8233");
    let mixed = cure(grams("2000"), "0.75", "0");
    let pumped = Cured::Pumped { pickle: grams("10330"), pump: percent("10") };
    assert_eq!(nitrite_ppm(&[mixed], pumped, 1), "145.2");
}

#[test]
fn the_two_immersion_methods_disagree_and_the_record_says_which_was_used() {
    // Arithmetic on methods one and two of FSIS Directive 7620.3.
    let cures = [cure(grams("160"), "6.25", "0")];
    let pick_up = Cured::PickUp { pickle: grams("5000"), pick_up: percent("10") };
    let level = Cured::Equilibrium { green: grams("10000"), pickle: grams("5000") };
    assert_eq!(nitrite_ppm(&cures, pick_up, 1), "200.0");
    assert_eq!(nitrite_ppm(&cures, level, 1), "666.7");
    assert_eq!(pick_up.method().words(), "immersion, by pick-up");
    assert_eq!(level.method().words(), "immersion, at equilibrium");
    assert_eq!(nitrite(&cures, level).expect("a base").basis.words(), "of meat and pickle");
    assert_ne!(pick_up.method().formula(), level.method().formula());
}

#[test]
fn every_figure_carries_its_base_its_formula_and_its_source() {
    let figure = nitrite(&[pure_nitrite(grams("1"))], Cured::Comminuted { meat_block: grams("5000") });
    let figure = figure.expect("a base above zero");
    assert_eq!(figure.basis.words(), "of the meat block");
    assert_eq!(figure.formula, "cure × strength × 1,000,000 ÷ meat block");
    assert!(figure.source.contains("7620.3"));
}

#[test]
fn several_cures_in_one_batch_add_up() {
    let block = Cured::Comminuted { meat_block: grams("10000") };
    let both = [cure(grams("15"), "6.25", "0"), cure(grams("10"), "6.25", "4")];
    assert_eq!(nitrite_ppm(&both, block, 2), "156.25");
    assert_eq!(nitrate_ppm(&both, block, 2), "40.00");
    assert_eq!(nitrite_ppm(&[], block, 2), "0.00");
}

#[test]
fn a_pickle_has_a_strength_before_it_meets_any_meat() {
    let figure = nitrite_in_pickle(&[cure(grams("160"), "6.25", "4")], grams("5000")).expect("a pickle");
    assert_eq!(printed(figure.exact, 2), "2000.00");
    assert_eq!(figure.basis.words(), "of the pickle");
    let nitrate = nitrate_in_pickle(&[cure(grams("160"), "6.25", "4")], grams("5000")).expect("a pickle");
    assert_eq!(printed(nitrate.exact, 2), "1280.00");
}

#[test]
fn nothing_to_cure_is_refused() {
    let cures = [pure_nitrite(grams("1"))];
    for none in ["0", "-5"] {
        let none = grams(none);
        for (cured, what) in [
            (Cured::Comminuted { meat_block: none }, "meat block"),
            (Cured::Dry { green: none }, "green meat"),
            (Cured::Pumped { pickle: none, pump: percent("10") }, "pickle"),
            (Cured::PickUp { pickle: none, pick_up: percent("10") }, "pickle"),
            (Cured::Equilibrium { green: none, pickle: grams("100") }, "green meat"),
            (Cured::Equilibrium { green: grams("100"), pickle: none }, "pickle"),
        ] {
            assert_eq!(nitrite(&cures, cured), Err(BadFigure::NoBase { what }));
            assert_eq!(nitrate(&cures, cured), Err(BadFigure::NoBase { what }));
        }
        assert_eq!(nitrite_in_pickle(&cures, none), Err(BadFigure::NoBase { what: "pickle" }));
    }
}

#[test]
fn a_pickle_weighed_without_its_cure_is_refused() {
    let cures = [cure(grams("160"), "6.25", "0")];
    let pumped = Cured::Pumped { pickle: grams("150"), pump: percent("10") };
    assert_eq!(nitrite(&cures, pumped), Err(BadFigure::PartOverWhole { part: "cure", whole: "pickle" }));
}

#[test]
fn a_pump_below_nothing_or_above_the_meat_itself_is_refused() {
    let pumped = |pump| nitrite(&[], Cured::Pumped { pickle: grams("5000"), pump: percent(pump) });
    assert_eq!(pumped("-1"), Err(BadFigure::Negative { what: "pump" }));
    assert_eq!(pumped("100.1"), Err(BadFigure::OverHundred { what: "pump" }));
    let steeped = Cured::PickUp { pickle: grams("5000"), pick_up: percent("101") };
    assert_eq!(nitrite(&[], steeped), Err(BadFigure::OverHundred { what: "pick-up" }));
}

#[test]
fn a_cure_of_impossible_weight_or_strength_is_refused() {
    let of = |weight, no2, no3| Cure::new(grams(weight), strength(no2, no3));
    assert_eq!(of("-1", "6.25", "0"), Err(BadFigure::Negative { what: "cure" }));
    assert_eq!(of("1", "-0.1", "0"), Err(BadFigure::Negative { what: "nitrite in the cure" }));
    assert_eq!(of("1", "0", "100.1"), Err(BadFigure::OverHundred { what: "nitrate in the cure" }));
    assert_eq!(
        of("1", "60", "41"),
        Err(BadFigure::OverHundred { what: "nitrite and nitrate in the cure together" })
    );
}

#[test]
fn a_nitrite_limit_reads_the_same_in_every_expression() {
    let nitrite =
        |ppm: &str, from, to, places| printed(nitrite_as(Ppm::new(dec(ppm)), from, to).decimal(), places);
    // Published form: 120 ppm as sodium nitrite is 148.0 as potassium nitrite.
    assert_eq!(nitrite("120", NitriteAs::Sodium, NitriteAs::Potassium, 1), "148.0");
    // Regulation (EC) 1333/2008 Annex II, category 08.3, as amended by (EU) 2023/2108: 80 and 55 as the ion.
    assert_eq!(nitrite("80", NitriteAs::Ion, NitriteAs::Sodium, 1), "120.0");
    assert_eq!(nitrite("55", NitriteAs::Ion, NitriteAs::Sodium, 1), "82.5");
    // The published rounded factors.
    assert_eq!(nitrite("1", NitriteAs::Sodium, NitriteAs::Ion, 2), "0.67");
    let ion = nitrate_as(Ppm::new(dec("1")), NitrateAs::Sodium, NitrateAs::Ion);
    assert_eq!(printed(ion.decimal(), 2), "0.73");
    let saltpetre = nitrate_as(Ppm::new(dec("100")), NitrateAs::Potassium, NitrateAs::Sodium);
    assert_eq!(printed(saltpetre.decimal(), 2), "84.07");
}

fn close(one: Decimal, other: Decimal) -> bool {
    (one - other).abs() <= dec("0.000000001")
}

prop_compose! {
    fn any_cure()(weight in 0_i64..500_000, no2 in 0_i64..5_000, no3 in 0_i64..5_000) -> Cure {
        let hundredths = |value| Percent::new(Decimal::new(value, 2));
        let strength = Strength { nitrite: hundredths(no2), nitrate: hundredths(no3) };
        Cure::new(Decimal::new(weight, 2), strength).expect("in range")
    }
}

proptest! {
    #[test]
    fn the_same_batch_in_ounces_and_in_grams_has_the_same_ppm(cure in any_cure(), block in 1_i64..100_000_000) {
        let block = Decimal::new(block, 2);
        let ounce = WeightUnit::Ounce.grams();
        let in_ounces = nitrite(&[cure], Cured::Dry { green: block }).unwrap();
        let weighed = Cure { weight: cure.weight * ounce, ..cure };
        let in_grams = nitrite(&[weighed], Cured::Dry { green: block * ounce }).unwrap();
        prop_assert!(close(in_grams.exact, in_ounces.exact));
    }

    #[test]
    fn cures_weighed_apart_or_together_come_to_the_same(
        cures in proptest::collection::vec(any_cure(), 0..6), block in 1_i64..100_000_000,
    ) {
        let block = Cured::Comminuted { meat_block: Decimal::new(block, 2) };
        let together = nitrate(&cures, block).unwrap().exact;
        let apart: Decimal = cures.iter().map(|cure| nitrate(&[*cure], block).unwrap().exact).sum();
        prop_assert!(close(together, apart));
    }

    #[test]
    fn a_pumped_piece_takes_the_pumps_share_of_the_pickles_strength(
        cure in any_cure(), water in 1_i64..10_000_000, pump in 0_i64..6_000,
    ) {
        let pickle = cure.weight + Decimal::new(water, 2);
        let pump = Percent::new(Decimal::new(pump, 2));
        let strength = nitrite_in_pickle(&[cure], pickle).unwrap().exact;
        let pumped = nitrite(&[cure], Cured::Pumped { pickle, pump }).unwrap().exact;
        let picked_up = nitrite(&[cure], Cured::PickUp { pickle, pick_up: pump }).unwrap().exact;
        prop_assert!(close(pumped, strength * pump.fraction()));
        prop_assert_eq!(pumped, picked_up);
    }

    #[test]
    fn restating_a_nitrite_figure_and_back_changes_nothing(ppm in 0_i64..10_000_000) {
        let ppm = Ppm::new(Decimal::new(ppm, 3));
        for to in [NitriteAs::Sodium, NitriteAs::Potassium, NitriteAs::Ion] {
            let there = nitrite_as(ppm, NitriteAs::Sodium, to);
            prop_assert!((nitrite_as(there, to, NitriteAs::Sodium).decimal() - ppm.decimal()).abs() <= dec("0.0002"));
        }
    }
}
