//! The published list of salt in water beside Pitzer's equations, and beside measured values.

use flitchbook::standards::water_phase::{LIST, SATURATED, of_molality};
use rust_decimal::{Decimal, dec};
use serde_json::json;

use super::{ask, number};

#[test]
fn the_list_of_salt_in_water_is_what_the_theory_of_solutions_gives() {
    let mut cases: Vec<_> = LIST.iter().map(|(grams, _)| json!({"grams": grams})).collect();
    // Robinson and Stokes: 0.760 at 6 mol/kg. Saturated at 25 °C, 6.145 mol/kg: 0.753.
    let measured = [(of_molality(dec!(6)), dec!(0.760)), (of_molality(dec!(6.145)), SATURATED)];
    cases.extend(measured.iter().map(|(grams, _)| json!({"grams": grams})));
    let says: Vec<Decimal> =
        LIST.iter().map(|(_, activity)| *activity).chain(measured.map(|(_, activity)| activity)).collect();
    for ((case, says), theory) in cases.iter().zip(says).zip(ask("salt_water", &cases)) {
        // The list is of two places; half of the last of them.
        assert!((says - number(&theory)).abs() <= dec!(0.005), "{case}: listed {says}, in theory {theory}");
    }
}
