//! Brine and pump: how much cure and salt a pickle needs for what is wanted in the meat, and what it leaves there.
//!
//! A pickle is made up from the rest of it (water, salt, sugar), so the cure's own weight adds to the pickle that it is in: the
//! forms of FSIS Directive 7620.3 count the whole pickle, and are solved here for the cure.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure, MILLION};
use crate::measure::{Grams, Percent, WeightUnit};

/// What a gallon of pickle is counted at, pounds: the convention of 9 CFR 424.21(c) and FSIS Directive 7620.3.
const POUNDS_A_GALLON: Decimal = Decimal::TEN;

/// What so many US gallons of pickle weigh by the handbook's convention of 10 lb a gallon. Zero or more; error: negative.
/// Source: FSIS Directive 7620.3.
pub fn gallons(pickle: Decimal) -> Result<Grams, BadFigure> {
    Ok(Grams::of(figure::not_negative(pickle, "pickle")? * POUNDS_A_GALLON, WeightUnit::Pound))
}

/// Cure for a pickle that is pumped, unrounded, in the unit of `rest`: the pickle without its cure, above zero.
/// `fraction` is the share of nitrite in the cure, above 0 to 1; the pump is above 0 to 100 % of the green weight.
/// Error: outside that, or a ppm that no such cure reaches at this pump.
/// Source: cure × strength × pump × 1,000,000 ÷ (rest + cure), FSIS Directive 7620.3, solved for the cure.
pub fn dose_pumped(
    rest: Decimal,
    ppm: Decimal,
    fraction: Decimal,
    pump: Percent,
) -> Result<Decimal, BadFigure> {
    let pump = figure::above_zero(figure::share(pump, "pump")?, "pump")?;
    dose(figure::above_zero(rest, "pickle without its cure")?, ppm, strength(fraction)? * pump)
}

/// Cure for a pickle that meat lies in until both are level, unrounded, in the unit of the weights: green weight and the pickle
/// without its cure, both above zero. Error: outside that, or a ppm that no such cure reaches.
/// Source: cure × strength × 1,000,000 ÷ (green weight + rest + cure), FSIS Directive 7620.3, solved for the cure.
pub fn dose_level(
    green: Decimal,
    rest: Decimal,
    ppm: Decimal,
    fraction: Decimal,
) -> Result<Decimal, BadFigure> {
    let green = figure::above_zero(green, "green meat")?;
    dose(green + figure::above_zero(rest, "pickle without its cure")?, ppm, strength(fraction)?)
}

/// `cure × taken × 10^6 ÷ (rest + cure) = ppm`, solved for the cure.
fn dose(rest: Decimal, ppm: Decimal, taken: Decimal) -> Result<Decimal, BadFigure> {
    let ppm = figure::not_negative(ppm, "ppm")?;
    let most = taken * MILLION;
    if ppm >= most {
        return Err(BadFigure::OverHundred { what: "cure's share of its pickle" });
    }
    Ok(ppm * rest / (most - ppm))
}

fn strength(fraction: Decimal) -> Result<Decimal, BadFigure> {
    if fraction > Decimal::ONE {
        return Err(BadFigure::OverHundred { what: "strength" });
    }
    figure::above_zero(fraction, "strength")
}

/// Salt in the whole pickle, per cent. Salt zero or more, pickle above zero and with its salt in it.
/// Error: outside that. Source: arithmetic.
pub fn salt_in_brine(salt: Grams, pickle: Grams) -> Result<Percent, BadFigure> {
    let whole = figure::base(pickle, "pickle")?;
    let salt = figure::weight(salt, "salt")?;
    if salt > whole {
        return Err(BadFigure::PartOverWhole { part: "salt", whole: "pickle" });
    }
    Ok(Percent::new(salt * Decimal::ONE_HUNDRED / whole))
}

/// Salt in the treated piece, per cent of its weight with the pickle in it: brine's salt × pump ÷ (100 + pump).
/// Both 0 to 100 %. Error: outside that. Source: arithmetic; the meat's own salt is not counted.
pub fn finished_salt(brine: Percent, pump: Percent) -> Result<Percent, BadFigure> {
    let salt = figure::share(brine, "salt of the brine")?;
    let pump = figure::share(pump, "pump")?;
    Ok(Percent::new(salt * pump * Decimal::ONE_HUNDRED / (Decimal::ONE + pump)))
}

/// Salt in meat and pickle when both are level, per cent. Weights as in [`salt_in_brine`], green weight above zero.
/// Source: salt ÷ (green weight + pickle), arithmetic.
pub fn level_salt(green: Grams, salt: Grams, pickle: Grams) -> Result<Percent, BadFigure> {
    salt_in_brine(salt, pickle)?;
    let whole = figure::base(green, "green meat")? + pickle.decimal();
    Ok(Percent::new(salt.decimal() * Decimal::ONE_HUNDRED / whole))
}

/// Salt for a pickle of meat and water that come level at a wanted per cent, grams, unrounded: of everything, the salt itself
/// with it. Green weight and water above zero; wanted 0 to below 100 %. Error: outside that.
/// Source: salt ÷ (green weight + water + salt) = wanted, solved for the salt.
pub fn salt_for(green: Grams, water: Grams, wanted: Percent) -> Result<Decimal, BadFigure> {
    let rest = figure::base(green, "green meat")? + figure::base(water, "water")?;
    let wanted = figure::share(wanted, "wanted salt")?;
    let left = figure::above_zero(Decimal::ONE - wanted, "room beside the salt")?;
    Ok(rest * wanted / left)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::standards::curing::{Cure, Cured, Strength, nitrite};
    use crate::standards::figure::{dec, printed};

    fn percent(text: &str) -> Percent {
        Percent::new(dec(text))
    }

    fn grams(text: &str) -> Grams {
        Grams::new(dec(text))
    }

    #[test]
    fn a_hundred_gallons_are_counted_at_a_thousand_pounds() {
        assert_eq!(gallons(dec("100")), Ok(Grams::of(dec("1000"), WeightUnit::Pound)));
        assert!(gallons(dec("-1")).is_err());
    }

    #[test]
    fn two_pounds_in_a_thousand_of_pickle_are_200_ppm_at_ten_per_cent() {
        // 9 CFR 424.21(c) turned round: 998 lb of the rest take 2 lb of pure nitrite.
        assert_eq!(dose_pumped(dec("998"), dec("200"), dec("1"), percent("10")), Ok(dec("2")));
    }

    #[test]
    fn a_pickle_that_lies_level_counts_its_own_cure() {
        let cure = dose_level(dec("10000"), dec("5000"), dec("150"), dec("0.0625")).expect("a dose");
        assert_eq!(printed(cure, 3), "36.087");
        let back = cure * dec("0.0625") * dec("1000000") / (dec("15000") + cure);
        assert_eq!(printed(back, 8), "150.00000000");
    }

    #[test]
    fn a_ppm_that_the_cure_cannot_reach_is_refused() {
        let weak = |ppm: &str| dose_pumped(dec("1000"), dec(ppm), dec("0.006"), percent("10"));
        // All of the pickle cure: 0.6 % of it at a tenth is 600 ppm.
        assert!(weak("599.99").is_ok());
        assert!(weak("600").is_err());
        assert!(dose_pumped(dec("1000"), dec("100"), dec("0.0625"), Percent::ZERO).is_err());
        assert!(dose_pumped(dec("0"), dec("100"), dec("0.0625"), percent("10")).is_err());
        assert!(dose_level(dec("0"), dec("100"), dec("100"), dec("0.0625")).is_err());
        assert!(dose_level(dec("10"), dec("100"), dec("-1"), dec("0.0625")).is_err());
        assert!(dose_level(dec("10"), dec("100"), dec("1"), dec("0")).is_err());
    }

    #[test]
    fn salt_is_counted_on_the_brine_and_on_the_treated_piece() {
        assert_eq!(salt_in_brine(grams("1500"), grams("10000")), Ok(percent("15")));
        // 10 parts of a 15 % brine to 100 of meat: 1.5 in 110.
        assert_eq!(finished_salt(percent("15"), percent("10")), Ok(percent("1.3636")));
        assert_eq!(level_salt(grams("2000"), grams("75"), grams("1000")), Ok(percent("2.5")));
        assert_eq!(salt_for(grams("2000"), grams("925"), percent("2.5")), Ok(dec("75")));
        assert!(salt_in_brine(grams("11"), grams("10")).is_err());
        assert!(salt_for(grams("1"), grams("1"), Percent::HUNDRED).is_err());
        assert!(finished_salt(percent("15"), percent("101")).is_err());
    }

    proptest! {
        #[test]
        fn the_dose_comes_out_at_the_ppm_that_was_wanted(
            rest in 1_000_i64..100_000_000, ppm in 1_i64..30_000, strength in 500_i64..10_000, pump in 500_i64..6_000,
        ) {
            let (rest, ppm) = (Decimal::new(rest, 2), Decimal::new(ppm, 2));
            let share = Percent::new(Decimal::new(strength, 2));
            let pump = Percent::new(Decimal::new(pump, 2));
            let dosed = dose_pumped(rest, ppm, share.fraction(), pump).unwrap();
            let cure = Cure::new(dosed, Strength { nitrite: share, nitrate: Percent::ZERO }).unwrap();
            let reached = nitrite(&[cure], Cured::Pumped { pickle: rest + dosed, pump }).unwrap().exact;
            prop_assert!((reached - ppm).abs() < dec("0.0000001"));
            let twice = dose_pumped(rest + rest, ppm, share.fraction(), pump).unwrap();
            prop_assert!((twice - dosed - dosed).abs() < dec("0.0000001"));
        }
    }
}
