//! USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook (1995), and 9 CFR 424.21(c): the regulation's own
//! ounces and pounds, and arithmetic on the handbook's forms. Regulation (EC) 1333/2008 as amended by (EU) 2023/2108: the ion.

use flitchbook::measure::{Percent, Ppm};
use flitchbook::standards::curing::{
    Accelerator, Cure, Cured, NitrateAs, NitriteAs, RIND, Rind, Stated, Strength, accelerator, cure_for,
    less, meat_for, nitrate, nitrate_as, nitrite, nitrite_as,
};
use rust_decimal::{Decimal, dec};

use super::{Published, figure, printed};

const HANDBOOK: &str = "FSIS Directive 7620.3, arithmetic on its forms";
const REGULATION: &str = "9 CFR 424.21(c)";
const UNION: &str = "Regulation (EC) 1333/2008 Annex II, category 08.3, as amended by (EU) 2023/2108";
const MASSES: &str = "molar masses from standard atomic weights";

fn strength(nitrite: Decimal, nitrate: Decimal) -> Strength {
    Strength { nitrite: Percent::new(nitrite), nitrate: Percent::new(nitrate) }
}

fn ppm(cure: Decimal, nitrite_percent: Decimal, way: Cured) -> Decimal {
    let cure = Cure::new(cure, strength(nitrite_percent, dec!(0))).unwrap();
    nitrite(&[cure], way).unwrap().exact.normalize()
}

fn saltpetre(cure: Decimal, way: Cured) -> Decimal {
    nitrate(&[Cure::new(cure, strength(dec!(0), dec!(100))).unwrap()], way).unwrap().exact.normalize()
}

pub fn figures() -> Vec<Published> {
    let mut all = handbook();
    all.extend(regulation());
    all.extend(expressions());
    all.extend(turned_round());
    all.extend(accelerators());
    all
}

fn handbook() -> Vec<Published> {
    let dry = |green| Cured::Dry { green };
    let mince = |meat_block| Cured::Comminuted { meat_block };
    let hundred = mince(dec!(1600));
    vec![
        figure(HANDBOOK, "1 g of nitrite on 5,000 g", 200, ppm(dec!(1), dec!(100), dry(dec!(5000)))),
        figure(HANDBOOK, "0.75 g of nitrite on 5,000 g", 150, ppm(dec!(0.75), dec!(100), dry(dec!(5000)))),
        figure(HANDBOOK, "30 g/kg of a 0.6 % curing salt", 180, ppm(dec!(30), dec!(0.6), mince(dec!(1000)))),
        figure(HANDBOOK, "7.8 g/kg of a 6.25 % cure", "487.5", ppm(dec!(7.8), dec!(6.25), dry(dec!(1000)))),
        figure(HANDBOOK, "4 oz of a 6.25 % cure to 100 lb", "156.25", ppm(dec!(4), dec!(6.25), hundred)),
        figure(HANDBOOK, "0.32 oz of nitrite to 100 lb", 200, ppm(dec!(0.32), dec!(100), hundred)),
        figure(
            HANDBOOK,
            "skin-on belly: the rind, about 10 %, is left out of 100 lb",
            90,
            printed(Rind::Share(RIND).left_out_of(flitchbook::measure::Grams::whole(100)).unwrap(), 0),
        ),
    ]
}

/// The weights in the regulation's words, and the ppm that it states for them.
fn regulation() -> Vec<Published> {
    let (mince, dry) = (Cured::Comminuted { meat_block: dec!(1600) }, Cured::Dry { green: dec!(1600) });
    let pumped = Cured::Pumped { pickle: dec!(1000), pump: Percent::new(dec!(10)) };
    vec![
        figure(
            REGULATION,
            "nitrite, comminuted, 1/4 oz to 100 lb",
            "156.25",
            ppm(dec!(0.25), dec!(100), mince),
        ),
        figure(
            REGULATION,
            "nitrate, comminuted, 2 3/4 oz to 100 lb",
            "1718.75",
            saltpetre(dec!(2.75), mince),
        ),
        figure(REGULATION, "nitrite, dry cured, 1 oz to 100 lb", 625, ppm(dec!(1), dec!(100), dry)),
        figure(REGULATION, "nitrate, dry cured, 3 1/2 oz to 100 lb", "2187.5", saltpetre(dec!(3.5), dry)),
        figure(REGULATION, "nitrite, 2 lb to 100 gal at 10 %", 200, ppm(dec!(2), dec!(100), pumped)),
        figure(REGULATION, "nitrate, 7 lb to 100 gal at 10 %", 700, saltpetre(dec!(7), pumped)),
    ]
}

fn expressions() -> Vec<Published> {
    let nitrite =
        |ppm: Decimal, from, to, places| printed(nitrite_as(Ppm::new(ppm), from, to).decimal(), places);
    let nitrate =
        |ppm: Decimal, from, to, places| printed(nitrate_as(Ppm::new(ppm), from, to).decimal(), places);
    let potassium = Stated {
        strength: strength(dec!(100), dec!(0)),
        nitrite_as: NitriteAs::Potassium,
        nitrate_as: NitrateAs::Sodium,
    };
    let as_sodium = Cure::stated(dec!(148), potassium).unwrap();
    let block = Cured::Comminuted { meat_block: dec!(1000000) };
    vec![
        figure(MASSES, "NaNO2", "68.995", NitriteAs::Sodium.molar_mass()),
        figure(MASSES, "KNO2", "85.104", NitriteAs::Potassium.molar_mass()),
        figure(MASSES, "NO2", "46.005", NitriteAs::Ion.molar_mass()),
        figure(MASSES, "NaNO3", "84.995", NitrateAs::Sodium.molar_mass()),
        figure(MASSES, "KNO3", "101.103", NitrateAs::Potassium.molar_mass()),
        figure(MASSES, "NO3", "62.005", NitrateAs::Ion.molar_mass()),
        figure(
            HANDBOOK,
            "120 ppm NaNO2 as KNO2",
            "148.0",
            nitrite(dec!(120), NitriteAs::Sodium, NitriteAs::Potassium, 1),
        ),
        figure(
            HANDBOOK,
            "148.0 ppm of KNO2 reckoned as NaNO2",
            "120.0",
            printed(flitchbook::standards::curing::nitrite(&[as_sodium], block).unwrap().exact, 1),
        ),
        figure(
            UNION,
            "80 mg/kg NO2 as NaNO2",
            "120.0",
            nitrite(dec!(80), NitriteAs::Ion, NitriteAs::Sodium, 1),
        ),
        figure(
            UNION,
            "the same unrounded",
            "119.98",
            nitrite(dec!(80), NitriteAs::Ion, NitriteAs::Sodium, 2),
        ),
        figure(
            UNION,
            "55 mg/kg NO2 as NaNO2",
            "82.5",
            nitrite(dec!(55), NitriteAs::Ion, NitriteAs::Sodium, 1),
        ),
        figure(MASSES, "NaNO2 to NO2", "0.67", nitrite(dec!(1), NitriteAs::Sodium, NitriteAs::Ion, 2)),
        figure(MASSES, "NaNO3 to NO3", "0.73", nitrate(dec!(1), NitrateAs::Sodium, NitrateAs::Ion, 2)),
    ]
}

/// The same forms, solved for the cure and for the meat.
fn turned_round() -> Vec<Published> {
    let hundred = Cured::Comminuted { meat_block: dec!(1600) };
    let kilo = Cured::Dry { green: dec!(1000) };
    let plain = |figure: Decimal| figure.normalize();
    vec![
        figure(
            REGULATION,
            "oz of nitrite to 100 lb for 156.25 ppm",
            "0.25",
            plain(cure_for(dec!(156.25), dec!(1), hundred).unwrap()),
        ),
        figure(
            REGULATION,
            "oz of nitrite to 100 lb for 625 ppm",
            1,
            plain(cure_for(dec!(625), dec!(1), Cured::Dry { green: dec!(1600) }).unwrap()),
        ),
        figure(
            HANDBOOK,
            "oz of a 6.25 % cure to 100 lb for 156.25 ppm",
            4,
            plain(cure_for(dec!(156.25), dec!(0.0625), hundred).unwrap()),
        ),
        figure(
            HANDBOOK,
            "g of a 6.25 % cure to leave out of 7.8 g/kg for 200 ppm",
            "4.6",
            plain(less(dec!(7.8), dec!(200), dec!(0.0625), kilo).unwrap()),
        ),
        figure(
            HANDBOOK,
            "g of meat for 1 g of nitrite at 200 ppm",
            5000,
            plain(meat_for(dec!(1), dec!(1), dec!(200)).unwrap()),
        ),
    ]
}

fn accelerators() -> Vec<Published> {
    const MEMORY: &str = "9 CFR 424.21(c), from memory, to be confirmed";
    let hundred = Cured::Comminuted { meat_block: dec!(1600) };
    let ppm =
        |ounces: Decimal| printed(accelerator(&[(ounces, Percent::HUNDRED)], hundred).unwrap().exact, 0);
    vec![
        figure(MEMORY, "sodium erythorbate, 7/8 oz to 100 lb", 547, ppm(dec!(0.875))),
        figure(MEMORY, "ascorbic acid, 3/4 oz to 100 lb", 469, ppm(dec!(0.75))),
        figure(MASSES, "sodium ascorbate, C6H7NaO6", "198.106", Accelerator::SodiumAscorbate.molar_mass()),
        figure(MASSES, "ascorbic acid, C6H8O6", "176.124", Accelerator::AscorbicAcid.molar_mass()),
    ]
}
