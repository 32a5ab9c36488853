use proptest::prelude::*;

use super::*;
use crate::measure::WeightUnit;
use crate::standards::curing::{self, Cure, Cured, Strength};
use crate::standards::figure::dec;
use crate::standards::formula::{Of, Part};

fn grams(text: &str) -> Grams {
    Grams::new(dec(text))
}

fn percent(text: &str) -> Percent {
    Percent::new(dec(text))
}

fn division(text: &str) -> Division {
    Division::new(grams(text)).expect("a division")
}

fn of_meat(text: &str, part: Part) -> Line {
    Line { percent: percent(text), of: Of::MeatBlock, part }
}

/// Lean 70 %, fat 30 %, salt 2.5 %, cure 0.25 %, pepper 0.3 % of the meat block.
fn salami() -> Formula {
    let lines = vec![
        of_meat("70", Part::Meat),
        of_meat("30", Part::Meat),
        of_meat("2.5", Part::Dry),
        of_meat("0.25", Part::Dry),
        of_meat("0.3", Part::Dry),
    ];
    Formula::new(lines, None).expect("a salami")
}

/// Meat on a scale that reads 5 g, the rest on one that reads 0.5 g.
fn two_scales(_: usize, line: &Line) -> Division {
    if line.part == Part::Meat { division("5") } else { division("0.5") }
}

#[test]
fn a_recipe_scales_to_the_meat_that_there_is() {
    let weights = to_meat(&salami(), dec("8640")).expect("meat");
    assert_eq!(weights, ["6048", "2592", "216", "21.6", "25.92"].map(dec));
}

#[test]
fn a_recipe_scales_back_from_the_cure_that_is_left() {
    assert_eq!(meat_for(&salami(), 3, grams("12.5")), Ok(dec("5000")));
    assert_eq!(meat_for(&salami(), 0, grams("7000")), Ok(dec("10000")));
}

#[test]
fn a_scale_reads_the_nearest_step_and_stock_is_taken_a_step_below() {
    let fine = division("0.5");
    assert_eq!(fine.nearest(dec("21.6")), grams("21.5"));
    assert_eq!(fine.nearest(dec("21.75")), grams("22"));
    assert_eq!(fine.nearest(dec("0.2")), grams("0"));
    assert_eq!(fine.below(grams("21.9")), grams("21.5"));
    assert_eq!(fine.below(grams("21.5")), grams("21.5"));
}

#[test]
fn what_rounding_did_to_each_proportion_is_shown() {
    let lines = weigh_out(&salami(), dec("8642"), two_scales).expect("meat");
    let weighed: Vec<Grams> = lines.iter().map(|line| line.weigh).collect();
    // Targets: 6049.4, 2592.6, 216.05, 21.605, 25.926.
    assert_eq!(weighed, ["6050", "2595", "216", "21.5", "26"].map(grams));
    let cure = lines[3];
    assert_eq!(cure.target, grams("21.61"));
    // Arithmetic: 21.5 over the 8,645 g that the large scale gives.
    assert_eq!(cure.target_percent, percent("0.25"));
    assert_eq!(cure.actual_percent, percent("0.2487"));
    assert_eq!(cure.difference, percent("-0.0013"));
    let lean = lines[0];
    assert_eq!(lean.actual_percent, percent("69.9826"));
    assert_eq!(lean.difference, percent("-0.0174"));
}

#[test]
fn a_spice_too_light_for_the_scale_shows_as_nothing_weighed() {
    let lines = weigh_out(&salami(), dec("60"), two_scales).expect("meat");
    assert_eq!((lines[3].target, lines[3].weigh), (grams("0.15"), grams("0")));
    assert_eq!((lines[3].actual_percent, lines[3].difference), (percent("0"), percent("-0.25")));
}

#[test]
fn a_line_of_the_brine_is_held_against_the_brine_as_weighed() {
    let brine = |text| Line { percent: percent(text), of: Of::Brine, part: Part::Brine };
    let lines = vec![of_meat("100", Part::Meat), brine("92"), brine("6"), brine("2")];
    let formula = Formula::new(lines, Some(percent("40"))).expect("a brined loin");
    let lines = weigh_out(&formula, dec("1850"), |_, _| division("5")).expect("meat");
    let weighed: Vec<Grams> = lines.iter().map(|line| line.weigh).collect();
    // Targets: 1850, 680.8, 44.4, 14.8.
    assert_eq!(weighed, ["1850", "680", "45", "15"].map(grams));
    // Arithmetic: 45 over 740.
    assert_eq!((lines[2].actual_percent, lines[2].difference), (percent("6.0811"), percent("0.0811")));
}

#[test]
fn no_meat_no_stock_and_no_line_are_refused() {
    let meat = BadFigure::NoBase { what: "meat block" };
    assert_eq!(to_meat(&salami(), dec("0")), Err(meat.clone()));
    assert_eq!(weigh_out(&salami(), dec("-1"), two_scales), Err(meat));
    assert_eq!(meat_for(&salami(), 3, grams("0")), Err(BadFigure::NoBase { what: "stock" }));
    let line = BadFigure::NoBase { what: "line to scale from" };
    assert_eq!(meat_for(&salami(), 9, grams("1")), Err(line.clone()));
    let unsalted = vec![of_meat("100", Part::Meat), of_meat("0", Part::Dry)];
    let unsalted = Formula::new(unsalted, None).expect("a recipe");
    assert_eq!(meat_for(&unsalted, 1, grams("1")), Err(line));
    assert_eq!(Division::new(grams("0")), Err(BadFigure::NoBase { what: "scale's division" }));
    assert_eq!(
        weigh_out(&salami(), dec("2"), two_scales),
        Err(BadFigure::NoBase { what: "weight that the line is a share of" })
    );
}

prop_compose! {
    fn any_formula()(
        lean in 1_i64..10_000, seasonings in proptest::collection::vec(1_i64..3_000, 1..10),
    ) -> Formula {
        let line = |value, part| Line { percent: Percent::new(Decimal::new(value, 2)), of: Of::MeatBlock, part };
        let mut lines = vec![line(lean, Part::Meat), line(10_000 - lean, Part::Meat)];
        lines.extend(seasonings.into_iter().map(|value| line(value, Part::Dry)));
        Formula::new(lines, None).unwrap()
    }
}

fn close(one: Decimal, other: Decimal) -> bool {
    (one - other).abs() < dec("0.000000001")
}

proptest! {
    #[test]
    fn two_half_batches_weigh_what_one_whole_batch_weighs(
        formula in any_formula(), one in 1_i64..5_000_000, other in 1_i64..5_000_000,
    ) {
        let (one, other) = (Decimal::new(one, 2), Decimal::new(other, 2));
        let apart = to_meat(&formula, one).unwrap().into_iter().zip(to_meat(&formula, other).unwrap());
        for (together, (one, other)) in to_meat(&formula, one + other).unwrap().into_iter().zip(apart) {
            prop_assert!(close(together, one + other));
        }
    }

    #[test]
    fn the_meat_lines_of_a_batch_weigh_the_meat_that_it_was_scaled_to(
        formula in any_formula(), meat in 1_i64..50_000_000,
    ) {
        let meat = Decimal::new(meat, 2);
        let weights = to_meat(&formula, meat).unwrap();
        prop_assert!(close(formula.sum(&weights, Of::MeatBlock), meat));
    }

    #[test]
    fn scaling_back_from_what_a_line_weighs_finds_the_same_meat(
        formula in any_formula(), meat in 1_i64..5_000, line in 2_usize..3,
    ) {
        // Whole hundreds of grams, so that every line falls on 0.01 g.
        let meat = Decimal::from(meat * 100);
        let weight = to_meat(&formula, meat).unwrap()[line];
        prop_assert!(close(meat_for(&formula, line, Grams::new(weight)).unwrap(), meat));
    }

    #[test]
    fn a_batch_in_ounces_and_the_same_batch_in_grams_have_the_same_ppm(
        formula in any_formula(), meat in 1_i64..5_000_000,
    ) {
        let ppm = |meat: Decimal| {
            let weights = to_meat(&formula, meat).unwrap();
            let cure = Cure::new(weights[2], Strength { nitrite: percent("6.25"), nitrate: percent("4") }).unwrap();
            let block = Cured::Comminuted { meat_block: formula.sum(&weights, Of::MeatBlock) };
            curing::nitrite(&[cure], block).unwrap().exact
        };
        let ounces = Decimal::new(meat, 2);
        prop_assert!(close(ppm(ounces), ppm(ounces * WeightUnit::Ounce.grams())));
    }

    #[test]
    fn rounding_moves_no_line_by_more_than_half_a_division(
        formula in any_formula(), meat in 100_000_i64..50_000_000,
    ) {
        for line in weigh_out(&formula, Decimal::new(meat, 2), |_, _| division("0.1")).unwrap() {
            // The target is itself rounded to 0.01 g.
            prop_assert!((line.weigh.decimal() - line.target.decimal()).abs() <= dec("0.055"));
        }
    }
}
