//! Ingoing nitrite beside the same methods carried through with units.

use flitchbook::measure::{Percent, WeightUnit};
use flitchbook::standards::curing::{Cure, Cured, Strength, nitrite};
use rust_decimal::{Decimal, dec};
use serde_json::json;

use super::{Figures, agree, ask};

#[test]
fn ppm_are_the_same_when_the_units_are_carried_through() {
    let mut figures = Figures(2);
    let (mut cases, mut ours) = (Vec::new(), Vec::new());
    let units = [WeightUnit::Gram, WeightUnit::Kilogram, WeightUnit::Pound, WeightUnit::Ounce];
    for round in 0..40_usize {
        // Cure and meat in units of their own, the cure always lighter than its pickle.
        let (of_cure, of_meat) = (units[round % 4], units[1 + round % 2]);
        let cure =
            figures.decimal(1, 9_999, 2) / if of_cure == WeightUnit::Kilogram { dec!(100) } else { dec!(1) };
        let strength = figures.decimal(1, 10_000, 2);
        let meat = figures.decimal(1_000, 99_999, 2);
        let pickle = figures.decimal(50_000, 99_999, 2);
        let taken = figures.decimal(1, 600, 1);
        let in_grams = |weight: Decimal, unit: WeightUnit| weight * unit.grams();
        let pack = Strength { nitrite: Percent::new(strength), nitrate: Percent::ZERO };
        let goes_in = [Cure::new(in_grams(cure, of_cure), pack).unwrap()];
        let (green, brine) = (in_grams(meat, of_meat), in_grams(pickle, of_meat));
        let share = Percent::new(taken);
        for (method, way) in [
            ("comminuted", Cured::Comminuted { meat_block: green }),
            ("dry", Cured::Dry { green }),
            ("pumped", Cured::Pumped { pickle: brine, pump: share }),
            ("pick-up", Cured::PickUp { pickle: brine, pick_up: share }),
            ("equilibrium", Cured::Equilibrium { green, pickle: brine }),
        ] {
            cases.push(json!({
                "method": method,
                "cure": [cure, of_cure.symbol()],
                "strength": strength,
                "meat": [meat, of_meat.symbol()],
                "pickle": [pickle, of_meat.symbol()],
                "taken": taken,
            }));
            ours.push(nitrite(&goes_in, way).unwrap().exact);
        }
    }
    agree(&cases, &ours, &ask("ppm", &cases), dec!(0.000001));
}
