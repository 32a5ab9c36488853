//! USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook (1995), and 9 CFR 424.21(c): arithmetic on the
//! handbook's forms.

use flitchbook::measure::Percent;
use flitchbook::standards::curing::{Cure, Cured, Strength, nitrite};
use rust_decimal::{Decimal, dec};

use super::{Published, figure};

const HANDBOOK: &str = "FSIS Directive 7620.3, arithmetic on its forms";

fn ppm(cure: Decimal, strength: Decimal, way: Cured) -> Decimal {
    let strength = Strength { nitrite: Percent::new(strength), nitrate: Percent::ZERO };
    let cure = Cure::new(cure, strength).unwrap();
    nitrite(&[cure], way).unwrap().exact.normalize()
}

pub fn figures() -> Vec<Published> {
    let dry = |green| Cured::Dry { green };
    let mince = |meat_block| Cured::Comminuted { meat_block };
    vec![
        figure(HANDBOOK, "1 g of nitrite on 5,000 g", 200, ppm(dec!(1), dec!(100), dry(dec!(5000)))),
        figure(HANDBOOK, "0.75 g of nitrite on 5,000 g", 150, ppm(dec!(0.75), dec!(100), dry(dec!(5000)))),
        figure(HANDBOOK, "30 g/kg of a 0.6 % curing salt", 180, ppm(dec!(30), dec!(0.6), mince(dec!(1000)))),
        figure(
            HANDBOOK,
            "7.8 g/kg of a 6.25 % cure, dry",
            "487.5",
            ppm(dec!(7.8), dec!(6.25), dry(dec!(1000))),
        ),
        figure(
            HANDBOOK,
            "4 oz of a 6.25 % cure to 100 lb",
            "156.25",
            ppm(dec!(4), dec!(6.25), mince(dec!(1600))),
        ),
        figure(HANDBOOK, "0.32 oz of nitrite to 100 lb", 200, ppm(dec!(0.32), dec!(100), mince(dec!(1600)))),
    ]
}
