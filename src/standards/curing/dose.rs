//! The methods turned round: how much cure makes a wanted ppm, how much meat a weight of cure is for, and how much less
//! cure comes down to a limit.

use rust_decimal::Decimal;

use super::{Cured, MILLION, meets};
use crate::standards::figure::{self, BadFigure};

/// The weight of cure that makes `ppm`, unrounded, in the unit of the base. `fraction` is the share of nitrite (or of nitrate,
/// or of an accelerator) in the cure, above 0 to 1. A pickle or a whole batch is its whole weight, with the cure in it.
/// Error: a base, fraction or pump of nothing; a cure that would outweigh the pickle or batch that it is in.
/// Source: FSIS Directive 7620.3, solved for the cure.
pub fn cure_for(ppm: Decimal, fraction: Decimal, way: Cured) -> Result<Decimal, BadFigure> {
    let ppm = figure::not_negative(ppm, "ppm")?;
    let fraction = strength(fraction)?;
    let of_one = meets(Decimal::ZERO, way)?.fraction(fraction, Decimal::ONE, way.method().basis());
    if of_one.is_nothing() {
        return Err(BadFigure::NoBase { what: "pump or pick-up" });
    }
    let cure = of_one.to_make(ppm);
    meets(cure, way)?;
    Ok(cure)
}

/// The weight of meat (or of whatever the ppm are counted on) that so much cure makes up to `ppm`, unrounded.
/// Cure zero or more, fraction and ppm above zero. Error: outside that. Source: as [`cure_for`].
pub fn meat_for(cure: Decimal, fraction: Decimal, ppm: Decimal) -> Result<Decimal, BadFigure> {
    let salt = figure::not_negative(cure, "cure")? * strength(fraction)?;
    Ok(salt * MILLION / figure::above_zero(ppm, "ppm")?)
}

/// How much of a weighed cure has to stay out to come down to `ppm`, unrounded; nothing where it is at or under it already.
/// Range and error as for [`cure_for`].
pub fn less(weighed: Decimal, ppm: Decimal, fraction: Decimal, way: Cured) -> Result<Decimal, BadFigure> {
    let weighed = figure::not_negative(weighed, "cure")?;
    Ok((weighed - cure_for(ppm, fraction, way)?).max(Decimal::ZERO))
}

fn strength(fraction: Decimal) -> Result<Decimal, BadFigure> {
    if fraction > Decimal::ONE {
        return Err(BadFigure::OverHundred { what: "strength" });
    }
    figure::above_zero(fraction, "strength")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::measure::{Percent, WeightUnit};
    use crate::standards::curing::{Cure, Strength, nitrite};
    use crate::standards::figure::{dec, printed};

    fn cure(weight: Decimal, nitrite: Percent) -> Cure {
        Cure::new(weight, Strength { nitrite, nitrate: Percent::ZERO }).expect("a cure")
    }

    #[test]
    fn a_quarter_ounce_to_a_hundred_pounds_is_four_ounces_of_a_weak_cure() {
        // 9 CFR 424.21(c), turned round: 156.25 ppm with a 6.25 % cure.
        let way = Cured::Comminuted { meat_block: dec("1600") };
        assert_eq!(cure_for(dec("156.25"), dec("0.0625"), way), Ok(dec("4")));
        assert_eq!(meat_for(dec("4"), dec("0.0625"), dec("156.25")), Ok(dec("1600")));
    }

    #[test]
    fn grams_to_leave_out_are_counted_from_the_exact_limit() {
        let way = Cured::Dry { green: dec("1000") };
        // 7.8 g/kg of a 6.25 % cure is 487.5 ppm; 200 ppm is 3.2 g.
        assert_eq!(less(dec("7.8"), dec("200"), dec("0.0625"), way), Ok(dec("4.6")));
        assert_eq!(less(dec("3.2"), dec("200"), dec("0.0625"), way), Ok(dec("0")));
        assert_eq!(less(dec("3.21"), dec("200"), dec("0.0625"), way), Ok(dec("0.01")));
    }

    #[test]
    fn what_cannot_be_dosed_is_refused() {
        let way = Cured::Dry { green: dec("1000") };
        assert!(cure_for(dec("100"), dec("0"), way).is_err());
        assert!(cure_for(dec("100"), dec("1.01"), way).is_err());
        assert!(cure_for(dec("-1"), dec("0.5"), way).is_err());
        assert!(cure_for(dec("100"), dec("0.5"), Cured::Dry { green: dec("0") }).is_err());
        let dry = Cured::Pumped { pickle: dec("1000"), pump: Percent::ZERO };
        assert_eq!(cure_for(dec("100"), dec("0.5"), dry), Err(BadFigure::NoBase { what: "pump or pick-up" }));
        // 200 ppm at 1 % pump ask for 32 % of a 6.25 % cure; at a thousandth of that strength for more than the pickle.
        let pumped = Cured::Pumped { pickle: dec("1000"), pump: Percent::new(dec("1")) };
        assert_eq!(cure_for(dec("200"), dec("0.0625"), pumped), Ok(dec("320")));
        assert!(cure_for(dec("200"), dec("0.0000625"), pumped).is_err());
        assert!(meat_for(dec("1"), dec("0.5"), dec("0")).is_err());
    }

    proptest! {
        #[test]
        fn the_inverse_of_the_inverse_is_where_it_began(
            ppm in 1_i64..100_000, strength in 1_000_i64..10_000, base in 1_000_i64..10_000_000, pump in 100_i64..5_000,
        ) {
            let (ppm, base) = (Decimal::new(ppm, 2), Decimal::new(base, 2));
            let share = Percent::new(Decimal::new(strength, 2));
            let pump = Percent::new(Decimal::new(pump, 2));
            for way in [
                Cured::Comminuted { meat_block: base }, Cured::Dry { green: base }, Cured::WholeBatch { batch: base },
                Cured::Pumped { pickle: base, pump }, Cured::Equilibrium { green: base, pickle: base },
            ] {
                let weight = cure_for(ppm, share.fraction(), way).unwrap();
                let back = nitrite(&[cure(weight, share)], way).unwrap().exact;
                prop_assert!((back - ppm).abs() < dec("0.0000001"));
            }
            let weight = cure_for(ppm, share.fraction(), Cured::Dry { green: base }).unwrap();
            prop_assert!((meat_for(weight, share.fraction(), ppm).unwrap() - base).abs() < dec("0.0000001"));
        }

        #[test]
        fn twice_the_meat_takes_twice_the_cure(ppm in 1_i64..100_000, base in 1_i64..10_000_000) {
            let (ppm, base, share) = (Decimal::new(ppm, 2), Decimal::new(base, 2), dec("0.0625"));
            let one = cure_for(ppm, share, Cured::Dry { green: base }).unwrap();
            let two = cure_for(ppm, share, Cured::Dry { green: base + base }).unwrap();
            prop_assert!((two - one - one).abs() < dec("0.0000001"));
        }

        #[test]
        fn ounces_and_grams_ask_for_the_same_cure(ppm in 1_i64..100_000, base in 1_i64..10_000_000) {
            let (ppm, base, ounce) = (Decimal::new(ppm, 2), Decimal::new(base, 2), WeightUnit::Ounce.grams());
            let ounces = cure_for(ppm, dec("0.0625"), Cured::Dry { green: base }).unwrap();
            let grams = cure_for(ppm, dec("0.0625"), Cured::Dry { green: base * ounce }).unwrap();
            prop_assert_eq!(printed(ounces * ounce, 8), printed(grams, 8));
        }
    }
}
