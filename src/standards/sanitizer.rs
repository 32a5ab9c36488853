//! Sanitizer made of household bleach, and what a strip reading meets. The figure of a recipe is a guide for mixing; the
//! record is the strip's reading, and the label of the product governs. The simple formula takes the label's per cent as grams
//! in 100 mL and divides by the whole volume, product and water together; the estimate by mass stands beside it.

use rust_decimal::{Decimal, dec};

use super::figure::{self, BadFigure};
use super::mark::{Held, Mark, cut_off, fahrenheit, found_temperature, in_fahrenheit};
use crate::measure::{Celsius, Percent, Ph};

/// Millilitres in a US teaspoon, a US quart, a US gallon, exact: NIST SP 811, appendix B.8 (a gallon is 231 cubic inches,
/// a quart a quarter, a teaspoon the 768th part of it).
pub const TEASPOON: Decimal = dec!(4.92892159375);
pub const QUART: Decimal = dec!(946.352946);
pub const GALLON: Decimal = dec!(3785.411784);

/// What the label's per cent is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Label {
    /// Sodium hypochlorite.
    Hypochlorite,
    /// Available chlorine.
    AvailableChlorine,
}

/// No more than this without a rinse with drinking water afterwards, ppm.
pub const MOST: Decimal = dec!(200);
const MOST_SOURCE: (&str, Mark) = ("21 CFR 178.1010(c)(1); 40 CFR 180.940(a)", Mark::Restated);

/// What to aim at so that both reckonings stay under the cap, ppm. Arithmetic on the table of densities.
pub const AIM: Decimal = dec!(150);

/// Densities of bleach, g/mL, by its per cent of sodium hypochlorite: usual values of safety data sheets, which vary by 0.02.
/// From memory, to be confirmed.
pub const DENSITIES: [(Decimal, Decimal); 4] =
    [(dec!(5.25), dec!(1.08)), (dec!(6), dec!(1.09)), (dec!(7.5), dec!(1.11)), (dec!(8.25), dec!(1.13))];

/// Available chlorine in sodium hypochlorite: `Cl2` 70.906 over `NaOCl` 74.442 g/mol.
fn as_chlorine() -> Decimal {
    dec!(70.906) / dec!(74.442)
}

fn strength(label: Percent) -> Result<Decimal, BadFigure> {
    figure::share(label, "strength on the label")?;
    let strength = label.decimal() * Decimal::from(10_000);
    figure::above_zero(strength, "strength on the label")
}

/// ppm of a mixture: label % × 10,000 × product ÷ (product + water). Product and water in one unit of volume, above zero.
/// Source: arithmetic, as extension services print it.
pub fn ppm(label: Percent, product: Decimal, water: Decimal) -> Result<Decimal, BadFigure> {
    let strength = strength(label)?;
    let product = figure::above_zero(product, "volume of the product")?;
    let water = figure::not_negative(water, "volume of water")?;
    Ok(strength * product / (product + water))
}

/// Product for a strength, in the unit of the water: target × water ÷ (label % × 10,000 − target). Error: a target that
/// the product itself does not reach.
pub fn dose(label: Percent, target: Decimal, water: Decimal) -> Result<Decimal, BadFigure> {
    let strength = strength(label)?;
    let target = figure::above_zero(target, "strength to make")?;
    let water = figure::above_zero(water, "volume of water")?;
    if target >= strength {
        return Err(BadFigure::PartOverWhole { part: "strength to make", whole: "strength of the product" });
    }
    Ok(target * water / (strength - target))
}

/// The estimate by mass: milligrams in a litre of what the label names, and of it as available chlorine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ByMass {
    pub density: Decimal,
    pub labelled: Decimal,
    pub chlorine: Decimal,
}

/// By mass: the label's per cent is by weight, so that a litre of a denser product holds more. None outside the strengths
/// of [`DENSITIES`], between which the density is taken in a straight line.
pub fn by_mass(
    label: Percent,
    of: Label,
    product: Decimal,
    water: Decimal,
) -> Result<Option<ByMass>, BadFigure> {
    let simple = ppm(label, product, water)?;
    let Some(density) = density(label.decimal()) else { return Ok(None) };
    let labelled = simple * density;
    let chlorine = match of {
        Label::Hypochlorite => labelled * as_chlorine(),
        Label::AvailableChlorine => labelled,
    };
    Ok(Some(ByMass { density, labelled, chlorine }))
}

fn density(label: Decimal) -> Option<Decimal> {
    let pair = DENSITIES.windows(2).find(|pair| pair[0].0 <= label && label <= pair[1].0)?;
    let ((low, light), (high, heavy)) = (pair[0], pair[1]);
    Some(light + (heavy - light) * (label - low) / (high - low))
}

/// A row of Food Code 4-501.114(A): from so many ppm on, at least so warm in °F, by pH.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChlorineRow {
    pub from: Decimal,
    pub up_to: Option<Decimal>,
    pub ph_10: i32,
    pub ph_8: i32,
}

const CHLORINE_SOURCE: (&str, Mark) = ("FDA Food Code 4-501.114(A)", Mark::Read);

/// Food Code 4-501.114(A). Between 49 and 50, and 99 and 100, the lower row holds.
pub const CHLORINE: [ChlorineRow; 3] = [
    ChlorineRow { from: dec!(25), up_to: Some(dec!(50)), ph_10: 120, ph_8: 120 },
    ChlorineRow { from: dec!(50), up_to: Some(dec!(100)), ph_10: 100, ph_8: 75 },
    ChlorineRow { from: dec!(100), up_to: None, ph_10: 55, ph_8: 55 },
];

/// The row for so many ppm; none below 25.
pub fn chlorine_row(ppm: Decimal) -> Option<ChlorineRow> {
    CHLORINE.into_iter().rev().find(|row| ppm >= row.from)
}

/// Coldest that a chlorine solution may be, °F. Without a pH that of pH 10 or less. None below 25 ppm and above pH 10.
pub fn coldest(ppm: Decimal, ph: Option<Ph>) -> Option<i32> {
    let row = chlorine_row(ppm)?;
    match ph.map(Ph::decimal) {
        Some(ph) if ph > dec!(10) => None,
        Some(ph) if ph <= dec!(8) => Some(row.ph_8),
        _ => Some(row.ph_10),
    }
}

/// Seconds of contact, Food Code 4-703.11(C): 10; 7 from 50 ppm on, at pH 10 or less and 100 °F or at pH 8 or less and
/// 75 °F.
pub fn chlorine_contact(ppm: Decimal, temperature: Option<Celsius>, ph: Option<Ph>) -> u16 {
    let (Some(temperature), Some(ph)) = (temperature, ph) else { return 10 };
    let ph = ph.decimal();
    let warm = |degrees| temperature >= fahrenheit(degrees);
    let short = (ph <= dec!(10) && warm(100)) || (ph <= dec!(8) && warm(75));
    if ppm >= dec!(50) && short { 7 } else { 10 }
}

/// Seconds of contact for quaternary ammonium and iodine, Food Code 4-703.11(C), where the label does not say more.
pub const OTHER_CONTACT: u16 = 30;

/// What a strip reading meets, by temperature and pH.
pub fn chlorine(ppm: Decimal, temperature: Option<Celsius>, ph: Option<Ph>) -> Vec<Held> {
    let read = || format!("{} ppm", cut_off(ppm, 2));
    let least =
        Held::new("strength, least", "at least 25 ppm", Some((read(), ppm >= dec!(25))), CHLORINE_SOURCE);
    let most = Held::new(
        "strength, most",
        "not more than 200 ppm where it is not rinsed",
        Some((read(), ppm <= MOST)),
        MOST_SOURCE,
    );
    let acidity = ph.map(|ph| (ph.text(), ph.decimal() <= dec!(10)));
    let acidity = Held::new("pH", "not above pH 10", acidity, CHLORINE_SOURCE);
    let mut held = vec![least, most, acidity];
    if let Some(degrees) = coldest(ppm, ph) {
        let found = temperature.map(|value| (found_temperature(value), value >= fahrenheit(degrees)));
        let needed = format!("at least {} at this strength and pH", in_fahrenheit(degrees));
        held.push(Held::new("temperature", needed, found, CHLORINE_SOURCE));
    }
    held
}

const IODINE_SOURCE: (&str, Mark) = ("FDA Food Code 4-501.114(B)", Mark::Read);
const QUAT_SOURCE: (&str, Mark) = ("FDA Food Code 4-501.114(C)", Mark::Read);

/// What a reading of an iodine solution meets.
pub fn iodine(ppm: Decimal, temperature: Option<Celsius>, ph: Option<Ph>) -> Vec<Held> {
    let read = format!("{} ppm", cut_off(ppm, 2));
    let between = (dec!(12.5)..=dec!(25)).contains(&ppm);
    let warm = temperature.map(|value| (found_temperature(value), value >= fahrenheit(68)));
    let acid = ph.map(|ph| (ph.text(), ph.decimal() <= dec!(5)));
    vec![
        Held::new("strength", "12.5 to 25 ppm", Some((read, between)), IODINE_SOURCE),
        Held::new("temperature", format!("at least {}", in_fahrenheit(68)), warm, IODINE_SOURCE),
        Held::new("pH", "not above pH 5.0", acid, IODINE_SOURCE),
    ]
}

/// What a reading of a solution of quaternary ammonium meets: the strength is the label's.
pub fn quat(
    ppm: Decimal,
    label: (Decimal, Decimal),
    temperature: Option<Celsius>,
    hardness: Option<Decimal>,
) -> Vec<Held> {
    let read = format!("{} ppm", cut_off(ppm, 2));
    let between = (label.0..=label.1).contains(&ppm);
    let warm = temperature.map(|value| (found_temperature(value), value >= fahrenheit(75)));
    let soft = hardness.map(|hardness| (format!("{} mg/L", cut_off(hardness, 0)), hardness <= dec!(500)));
    let needed = format!("{} to {} ppm by the label", label.0.normalize(), label.1.normalize());
    vec![
        Held::new("strength", needed, Some((read, between)), QUAT_SOURCE),
        Held::new("temperature", format!("at least {}", in_fahrenheit(75)), warm, QUAT_SOURCE),
        Held::new("hardness of the water", "not above 500 mg/L", soft, QUAT_SOURCE),
    ]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::standards::figure::printed;
    use crate::standards::mark::State;

    fn percent(text: &str) -> Percent {
        Percent::new(text.parse().unwrap())
    }

    fn two_quarts(label: &str) -> Decimal {
        ppm(percent(label), TEASPOON, QUART * dec!(2)).unwrap()
    }

    #[test]
    fn one_teaspoon_in_two_quarts_depends_on_the_bottle() {
        // Common practice; the strengths by arithmetic.
        let cases =
            [("5.25", "136.4", true), ("6", "155.8", true), ("7.5", "194.8", true), ("8.25", "214.3", false)];
        for (label, strength, under) in cases {
            let found = two_quarts(label);
            assert_eq!(printed(found, 1), strength, "{label} %");
            let held = chlorine(found, Some(fahrenheit(75)), Some(Ph::hundredths(800)));
            assert_eq!(held[0].state, State::Met);
            assert_eq!(held[1].state, if under { State::Met } else { State::Failed }, "{label} %");
            // From 100 ppm on, 55 °F is warm enough.
            assert_eq!(coldest(found, None), Some(55));
            assert_eq!(held[3].state, State::Met);
        }
        // By mass the bottle of 7.5 % is over as well.
        let mass = by_mass(percent("7.5"), Label::Hypochlorite, TEASPOON, QUART * dec!(2)).unwrap().unwrap();
        assert!(mass.chlorine > MOST && mass.labelled > mass.chlorine);
    }

    #[test]
    fn the_rows_end_exactly_where_they_end() {
        let at = |ppm: &str, ph: u16| coldest(ppm.parse().unwrap(), Some(Ph::hundredths(ph)));
        assert_eq!(at("24.99", 800), None);
        assert_eq!((at("25", 800), at("49.99", 1000)), (Some(120), Some(120)));
        assert_eq!((at("50", 800), at("50", 801), at("99.99", 1000)), (Some(75), Some(100), Some(100)));
        assert_eq!((at("100", 1000), at("100", 1001)), (Some(55), None));
        let most = |ppm: &str| chlorine(ppm.parse().unwrap(), None, None)[1].state;
        assert_eq!((most("200"), most("200.01")), (State::Met, State::Failed));
        let unknown = chlorine(dec!(100), None, None);
        assert_eq!((unknown[2].state, unknown[3].state), (State::Missing, State::Missing));
        let warm = |hundredths| {
            chlorine(dec!(60), Some(Celsius::hundredths(hundredths)), Some(Ph::hundredths(800)))[3].state
        };
        assert_eq!((warm(2389), warm(2388)), (State::Met, State::Failed));
    }

    #[test]
    fn contact_is_ten_seconds_and_seven_where_the_code_says_so() {
        let at = |ppm: &str, degrees, ph| {
            chlorine_contact(ppm.parse().unwrap(), Some(fahrenheit(degrees)), Some(Ph::hundredths(ph)))
        };
        assert_eq!((at("50", 75, 800), at("50", 74, 800), at("49.9", 75, 800)), (7, 10, 10));
        assert_eq!((at("50", 100, 1000), at("50", 99, 1000), at("50", 100, 1001)), (7, 10, 10));
        assert_eq!(chlorine_contact(dec!(100), None, None), 10);
    }

    #[test]
    fn iodine_and_quaternary_ammonium_have_their_own() {
        let all = |held: Vec<Held>| held.into_iter().map(|one| one.state).max().unwrap();
        let ph = |hundredths| Some(Ph::hundredths(hundredths));
        assert_eq!(all(iodine(dec!(12.5), Some(fahrenheit(68)), ph(500))), State::Met);
        assert_eq!(all(iodine(dec!(25), Some(fahrenheit(68)), ph(500))), State::Met);
        assert_eq!(all(iodine(dec!(25.1), Some(fahrenheit(68)), ph(500))), State::Failed);
        assert_eq!(all(iodine(dec!(12.4), Some(fahrenheit(68)), ph(500))), State::Failed);
        assert_eq!(all(iodine(dec!(20), Some(fahrenheit(67)), ph(500))), State::Failed);
        assert_eq!(all(iodine(dec!(20), None, ph(501))), State::Failed);
        let label = (dec!(200), dec!(400));
        assert_eq!(all(quat(dec!(200), label, Some(fahrenheit(75)), Some(dec!(500)))), State::Met);
        assert_eq!(all(quat(dec!(199), label, Some(fahrenheit(75)), Some(dec!(500)))), State::Failed);
        assert_eq!(all(quat(dec!(200), label, Some(fahrenheit(74)), Some(dec!(500)))), State::Failed);
        assert_eq!(all(quat(dec!(200), label, Some(fahrenheit(75)), Some(dec!(501)))), State::Failed);
        assert_eq!(all(quat(dec!(200), label, Some(fahrenheit(75)), None)), State::Missing);
    }

    #[test]
    fn what_cannot_be_mixed_is_refused() {
        assert!(ppm(percent("0"), dec!(1), dec!(1)).is_err());
        assert!(ppm(percent("101"), dec!(1), dec!(1)).is_err());
        assert!(ppm(percent("6"), dec!(0), dec!(1)).is_err());
        assert!(dose(percent("0.01"), dec!(100), dec!(1000)).is_err());
        assert!(dose(percent("6"), dec!(100), dec!(0)).is_err());
        assert_eq!(by_mass(percent("12.5"), Label::Hypochlorite, dec!(1), dec!(100)).unwrap(), None);
        let chlorine = by_mass(percent("6"), Label::AvailableChlorine, dec!(1), dec!(384)).unwrap().unwrap();
        assert_eq!(chlorine.labelled, chlorine.chlorine);
    }

    proptest! {
        #[test]
        fn a_dose_makes_the_strength_that_it_was_reckoned_for(
            label in 100_i64..1_500, target in 1_i64..2_000, water in 100_i64..50_000,
        ) {
            let (label, target, water) = (Percent::new(Decimal::new(label, 2)), Decimal::new(target, 1), Decimal::from(water));
            let product = dose(label, target, water).unwrap();
            prop_assert_eq!(ppm(label, product, water).unwrap().round_dp(12), target.round_dp(12));
        }
    }
}
