//! Typed weights, temperatures and lengths beside pint.

use flitchbook::measure::{
    LengthUnit, TemperatureUnit, WeightUnit, parse_length, parse_temperature, parse_weight,
};
use rust_decimal::dec;
use serde_json::json;

use super::{Figures, agree, ask};

#[test]
fn what_is_typed_in_pounds_degrees_and_inches_is_what_pint_makes_of_it() {
    let mut figures = Figures(1);
    let (mut cases, mut ours) = (Vec::new(), Vec::new());
    for _ in 0..60 {
        let amount = figures.decimal(1, 99_999, 2);
        for (unit, name) in [("lb", "pound"), ("oz", "ounce"), ("kg", "kilogram"), ("g", "gram")] {
            cases.push(json!({"amount": amount, "from": name, "to": "gram"}));
            ours.push(parse_weight(&format!("{amount} {unit}"), WeightUnit::Gram).unwrap().decimal());
        }
        let degrees = figures.decimal(0, 2_400, 1);
        cases.push(json!({"amount": degrees, "from": "degF", "to": "degC"}));
        ours.push(parse_temperature(&format!("{degrees} F"), TemperatureUnit::Celsius).unwrap().decimal());
        let inches = figures.decimal(1, 3_900, 2);
        cases.push(json!({"amount": inches, "from": "inch", "to": "millimeter"}));
        ours.push(parse_length(&format!("{inches} in"), LengthUnit::Millimetre).unwrap().decimal());
    }
    // Half of the last place that is kept, and what a float loses.
    agree(&cases, &ours, &ask("units", &cases), dec!(0.005001));
}
