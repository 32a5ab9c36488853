//! Brine and pump: 9 CFR 424.21(c) in pounds and gallons, and arithmetic on the forms of FSIS Directive 7620.3.

use flitchbook::measure::{Grams, Percent, WeightUnit};
use flitchbook::standards::curing::{Cure, Cured, Strength, nitrite, nitrite_in_pickle};
use flitchbook::standards::{brine, yields};
use rust_decimal::{Decimal, dec};

use super::{Published, figure, printed};

const HANDBOOK: &str = "FSIS Directive 7620.3, arithmetic on its forms";
const REGULATION: &str = "9 CFR 424.21(c), pickle counted at 10 lb a gallon";

fn percent(figure: Decimal) -> Percent {
    Percent::new(figure)
}

pub fn figures() -> Vec<Published> {
    // 2 parts of a 0.75 % cure to 8.33 parts of water, 567 g of it into 5,670 g.
    let cure = Cure::new(dec!(2), Strength { nitrite: percent(dec!(0.75)), nitrate: Percent::ZERO }).unwrap();
    let pickle = dec!(10.33);
    let in_pickle = nitrite_in_pickle(&[cure], pickle).unwrap().exact;
    let pump = yields::percent_pump(Grams::whole(5670), Grams::whole(5670 + 567)).unwrap();
    let pumped = nitrite(&[cure], Cured::Pumped { pickle, pump }).unwrap().exact;
    let pure = |ppm| brine::dose_pumped(dec!(998), ppm, dec!(1), percent(dec!(10))).unwrap().normalize();
    let pounds = brine::gallons(dec!(100)).unwrap().in_unit(WeightUnit::Pound);
    vec![
        figure(HANDBOOK, "567 g into 5,670 g, per cent pump", 10, pump),
        figure(
            HANDBOOK,
            "g of cure in 567 g of the pickle",
            "109.78",
            printed(dec!(567) * dec!(2) / pickle, 2),
        ),
        figure(
            HANDBOOK,
            "g of nitrite in 567 g of it",
            "0.8233",
            printed(dec!(567) * in_pickle / dec!(1000000), 4),
        ),
        figure(HANDBOOK, "ppm of the green weight", "145.2", printed(pumped, 1)),
        figure(REGULATION, "lb in 100 gal of pickle", 1000, printed(pounds, 0)),
        figure(REGULATION, "lb of nitrite beside 998 lb for 200 ppm at 10 %", 2, pure(dec!(200))),
    ]
}
