use proptest::prelude::*;

use super::*;
use crate::standards::curing::{self, Cure, Cured, Strength};
use crate::standards::figure::{dec, printed};

fn percent(text: &str) -> Percent {
    Percent::new(dec(text))
}

fn line(text: &str, of: Of, part: Part) -> Line {
    Line { percent: percent(text), of, part }
}

fn meat(text: &str) -> Line {
    line(text, Of::MeatBlock, Part::Meat)
}

fn on_meat(text: &str) -> Line {
    line(text, Of::MeatBlock, Part::Dry)
}

fn in_brine(text: &str) -> Line {
    line(text, Of::Brine, Part::Brine)
}

fn of_whole(text: &str, part: Part) -> Line {
    line(text, Of::Whole, part)
}

fn read_as(formula: &Formula, of: Of, places: u32) -> Vec<String> {
    let one = |share: Option<Percent>| share.map_or("none".into(), |share| printed(share.decimal(), places));
    formula.percents(of).into_iter().map(one).collect()
}

#[test]
fn a_salami_stated_of_the_meat_block_can_be_read_of_the_whole() {
    let lines = vec![meat("75"), meat("25"), on_meat("2.5"), on_meat("0.25"), on_meat("0.5")];
    let salami = Formula::new(lines, None).expect("a salami");
    assert_eq!(read_as(&salami, Of::MeatBlock, 2), ["75.00", "25.00", "2.50", "0.25", "0.50"]);
    // Arithmetic: each over 103.25.
    assert_eq!(read_as(&salami, Of::Whole, 2), ["72.64", "24.21", "2.42", "0.24", "0.48"]);
}

#[test]
fn a_sausage_stated_of_the_whole_can_be_read_of_the_meat_block() {
    let lines = vec![
        of_whole("60", Part::Meat),
        of_whole("20", Part::Meat),
        of_whole("18", Part::Dry),
        of_whole("2", Part::Dry),
    ];
    let sausage = Formula::new(lines, None).expect("a sausage");
    assert_eq!(read_as(&sausage, Of::MeatBlock, 2), ["75.00", "25.00", "22.50", "2.50"]);
    assert_eq!(read_as(&sausage, Of::Whole, 2), ["60.00", "20.00", "18.00", "2.00"]);
}

#[test]
fn a_brine_is_stated_of_itself_and_of_the_meat_by_how_much_of_it_there_is() {
    let lines = vec![meat("100"), in_brine("92"), in_brine("6"), in_brine("2"), on_meat("0.3")];
    let brined = Formula::new(lines, Some(percent("50"))).expect("a brined loin");
    assert_eq!(read_as(&brined, Of::MeatBlock, 2), ["100.00", "46.00", "3.00", "1.00", "0.30"]);
    assert_eq!(read_as(&brined, Of::Brine, 2), ["none", "92.00", "6.00", "2.00", "none"]);
}

#[test]
fn a_brine_stated_of_the_meat_can_be_read_of_the_brine() {
    let brine = |text| line(text, Of::MeatBlock, Part::Brine);
    let brined = Formula::new(vec![meat("100"), brine("46"), brine("3"), brine("1")], None).expect("a loin");
    assert_eq!(read_as(&brined, Of::Brine, 2), ["none", "92.00", "6.00", "2.00"]);
    let dry = Formula::new(vec![meat("100"), brine("0")], None).expect("a loin with its brine left open");
    assert_eq!(read_as(&dry, Of::Brine, 2), ["none", "none"]);
}

#[test]
fn a_line_of_the_whole_may_stand_among_lines_of_the_meat() {
    // Arithmetic: 2 % of the whole beside 98 parts of meat and spice is 2 parts of 100.
    let formula = Formula::new(vec![meat("100"), on_meat("12.7"), of_whole("2", Part::Dry)], None);
    let formula = formula.expect("a formula");
    assert_eq!(read_as(&formula, Of::MeatBlock, 1), ["100.0", "12.7", "2.3"]);
    assert_eq!(read_as(&formula, Of::Whole, 2)[2], "2.00");
}

#[test]
fn a_recipe_tells_its_ppm_before_anything_is_weighed() {
    let formula = Formula::new(vec![meat("100"), on_meat("2.5"), on_meat("0.25")], None).expect("a recipe");
    let cure = Cure::new(formula.parts()[2], Strength { nitrite: percent("6.25"), nitrate: percent("0") })
        .expect("a cure");
    let block = Cured::Comminuted { meat_block: Decimal::ONE_HUNDRED };
    // 4 oz of a 6.25 % cure to 100 lb is 0.25 %: 156.25 ppm (published form, FSIS Directive 7620.3).
    assert_eq!(curing::nitrite(&[cure], block).expect("a base").exact, dec("156.25"));
}

#[test]
fn lines_that_make_no_recipe_are_refused() {
    let refused = |lines: Vec<Line>, brine: Option<&str>| {
        Formula::new(lines, brine.map(percent)).expect_err("lines that make no recipe")
    };
    assert_eq!(refused(vec![], None), BadFormula::NoMeat);
    assert_eq!(refused(vec![on_meat("2.5")], None), BadFormula::NoMeat);
    assert_eq!(refused(vec![meat("0"), on_meat("2.5")], None), BadFormula::NoMeat);
    assert_eq!(refused(vec![meat("100"), on_meat("-1")], None), BadFormula::Negative { line: 1 });
    assert_eq!(
        refused(vec![meat("99.9"), on_meat("2")], None),
        BadFormula::MeatNotHundred { sum: dec("99.9") }
    );
    let (sixty, rest) = (of_whole("60", Part::Meat), of_whole("39", Part::Dry));
    assert_eq!(refused(vec![sixty, rest], None), BadFormula::WholeNotHundred { sum: dec("99") });
    assert_eq!(refused(vec![sixty, on_meat("40")], None), BadFormula::MeatOfWhole { line: 1 });
    assert_eq!(
        refused(vec![meat("100"), of_whole("100", Part::Dry)], None),
        BadFormula::NoRoomForMeat { sum: dec("100") }
    );
}

#[test]
fn a_brine_that_does_not_add_up_is_refused() {
    let refused = |lines: Vec<Line>, brine: Option<&str>| {
        Formula::new(lines, brine.map(percent)).expect_err("lines that make no brine")
    };
    let short = vec![meat("100"), in_brine("92"), in_brine("6")];
    assert_eq!(refused(short, Some("50")), BadFormula::BrineNotHundred { sum: dec("98") });
    let unmeasured = vec![meat("100"), in_brine("92"), in_brine("8")];
    assert_eq!(refused(unmeasured.clone(), None), BadFormula::NoBrineShare);
    assert_eq!(refused(unmeasured, Some("0")), BadFormula::NoBrineShare);
    let two_ways = vec![meat("100"), in_brine("100"), line("2", Of::MeatBlock, Part::Brine)];
    assert_eq!(refused(two_ways, Some("50")), BadFormula::BrineTwoWays { line: 2 });
    let rub = vec![meat("100"), line("2", Of::Brine, Part::Dry)];
    assert_eq!(refused(rub, Some("50")), BadFormula::NotInBrine { line: 1 });
}

#[test]
fn the_salt_in_the_cure_counts_towards_the_salt() {
    // Plain salt = target − cure × its salt fraction (common practice): 2.75 − 0.25 × 0.9375.
    let cure = Mix { percent: percent("0.25"), holds: percent("93.75") };
    assert_eq!(plain(percent("2.75"), &[cure]), Ok(percent("2.5156")));
    let spice = Mix { percent: percent("1"), holds: percent("40") };
    assert_eq!(plain(percent("2.75"), &[cure, spice]), Ok(percent("2.1156")));
    assert_eq!(plain(percent("2.75"), &[]), Ok(percent("2.75")));
}

#[test]
fn a_curing_salt_that_is_all_the_salt_leaves_none_to_weigh() {
    let curing_salt = Mix { percent: percent("2.5"), holds: percent("100") };
    assert_eq!(plain(percent("2.5"), &[curing_salt]), Ok(percent("0")));
}

#[test]
fn mixes_that_bring_more_salt_than_the_recipe_wants_are_refused() {
    let curing_salt = Mix { percent: percent("3"), holds: percent("99.4") };
    let too_much = BadFigure::PartOverWhole { part: "share in the mixes", whole: "target" };
    assert_eq!(plain(percent("2.5"), &[curing_salt]), Err(too_much));
    let impossible = Mix { percent: percent("3"), holds: percent("101") };
    assert_eq!(plain(percent("9"), &[impossible]), Err(BadFigure::OverHundred { what: "share in the mix" }));
    assert_eq!(plain(percent("-1"), &[]), Err(BadFigure::Negative { what: "target" }));
}

proptest! {
    #[test]
    fn a_recipe_read_of_the_whole_and_entered_again_has_the_same_proportions(
        lean in 1_i64..10_000, seasonings in proptest::collection::vec(0_i64..3_000, 1..10),
    ) {
        let hundredths = |value| Percent::new(Decimal::new(value, 2));
        let line = |percent, part| Line { percent, of: Of::MeatBlock, part };
        let mut lines = vec![line(hundredths(lean), Part::Meat), line(hundredths(10_000 - lean), Part::Meat)];
        lines.extend(seasonings.into_iter().map(|value| line(hundredths(value), Part::Dry)));
        let stated = Formula::new(lines.clone(), None).unwrap();
        let mut whole: Vec<Decimal> =
            stated.percents(Of::Whole).into_iter().flatten().map(Percent::decimal).collect();
        // Four decimals each need not add up to 100: the largest line takes what is missing.
        let missing = Decimal::ONE_HUNDRED - whole.iter().sum::<Decimal>();
        let largest = usize::from(lean < 5_000);
        whole[largest] += missing;
        let again = lines.iter().zip(&whole).map(|(line, percent)| {
            Line { percent: Percent::new(*percent), of: Of::Whole, part: line.part }
        });
        let again = Formula::new(again.collect(), None).unwrap();
        for (one, other) in stated.parts().iter().zip(again.parts()) {
            prop_assert!((one - other).abs() < dec("0.02"), "{one} {other}");
        }
    }
}
