//! Limits on what goes into cured meat, by jurisdiction and day, and the check values of their formulas at the exact limit
//! and one unit past it.

use flitchbook::measure::Percent;
use flitchbook::standards::ingoing::{Brings, Curing, GoesIn, Put};
use flitchbook::standards::limits::{
    Alkali, Base, Jurisdiction, Limit, Measured, Product, Stands, StatedAs, Substance, Way, shipped,
};
use flitchbook::standards::water_phase::water_phase_salt;
use rust_decimal::{Decimal, dec};
use time::Date;
use time::macros::date;

use super::{Published, figure};

const CFR: &str = "9 CFR 424.21(c)";
const BACON: &str = "9 CFR 424.22(b)";
const HANDBOOK: &str = "FSIS Directive 7620.3";
const HOME: &str = "21 CFR 172.170";
const EU: &str = "Regulation (EU) 2023/2108";
const EU_BEFORE: &str = "Regulation (EC) No 1333/2008, annex II, 08.3";
const SI: &str = "SI 2007/1778, schedule 1";
const CFIA: &str = "CFIA Meat Hygiene Manual of Procedures, chapter 4";

const TODAY: Date = date!(2026 - 11 - 24);

/// What is looked up: whose, when, of what, where measured, made how, falling under what.
#[derive(Clone, Copy)]
struct Ask {
    of: Jurisdiction,
    on: Date,
    substance: Substance,
    measured: Measured,
    way: Way,
    product: Product,
}

const US: Ask = Ask {
    of: Jurisdiction::UnitedStates,
    on: TODAY,
    substance: Substance::Nitrite,
    measured: Measured::Ingoing,
    way: Way::Comminuted,
    product: Product::Other,
};

/// The limits that answer, those of a shop that has switched everything on.
fn found(ask: Ask) -> Vec<Limit> {
    let rows = shipped(ask.of).unwrap().limits;
    let fits = |row: &Limit| {
        row.substance == ask.substance
            && row.measured == ask.measured
            && row.holds_on(ask.on)
            && row.holds_for(ask.way, ask.product)
    };
    rows.into_iter().filter(fits).collect()
}

fn most(ask: Ask) -> String {
    let most = found(ask).into_iter().filter(|row| !row.key.contains("home-cure")).filter_map(|row| row.most);
    most.map(|ppm| ppm.to_string()).collect::<Vec<_>>().join(", ")
}

fn least(ask: Ask) -> String {
    found(ask)
        .into_iter()
        .filter_map(|row| row.least)
        .map(|ppm| ppm.to_string())
        .collect::<Vec<_>>()
        .join(", ")
}

fn united_states() -> Vec<Published> {
    let way = |way| Ask { way, ..US };
    let nitrate = |way| Ask { way, substance: Substance::Nitrate, ..US };
    let bacon = |way| Ask { way, product: Product::Bacon, ..US };
    let finished = Ask { measured: Measured::Finished, ..US };
    let required = |ask: Ask| found(ask).into_iter().find_map(|row| row.required).unwrap().to_string();
    let by_key = |key: &str| {
        let rows = shipped(Jurisdiction::UnitedStates).unwrap().limits;
        rows.into_iter().find(|row| row.key == key).unwrap().most.unwrap().to_string()
    };
    vec![
        figure(CFR, "nitrite, comminuted, 1/4 oz to 100 lb", "156.25", most(US)),
        figure(CFR, "nitrite, dry cured, 1 oz to 100 lb", "625", most(way(Way::DryCured))),
        figure(CFR, "nitrite, pumped or massaged", "200", most(way(Way::Pumped))),
        figure(CFR, "nitrite, immersion by pick-up", "200", most(way(Way::PickUp))),
        figure(CFR, "nitrite, immersion at equilibrium", "200", most(way(Way::Equilibrium))),
        figure(CFR, "nitrate, comminuted, 2 3/4 oz to 100 lb", "1718.75", most(nitrate(Way::Comminuted))),
        figure(CFR, "nitrate, dry cured, 3 1/2 oz to 100 lb", "2187.5", most(nitrate(Way::DryCured))),
        figure(CFR, "nitrate, pumped, 7 lb to 100 gal", "700", most(nitrate(Way::Pumped))),
        figure(CFR, "nitrate, immersion", "700", most(nitrate(Way::Equilibrium))),
        figure(CFR, "nitrite in the finished product, all sources", "200", most(finished)),
        figure(BACON, "bacon, pumped: required", "120", required(bacon(Way::Pumped))),
        figure(
            BACON,
            "bacon, pumped: the least at injection",
            "96",
            least(Ask { ..bacon(Way::Pumped) }).split(", ").next().unwrap(),
        ),
        figure(BACON, "bacon, pumped: the most at injection", "144", most(bacon(Way::Pumped))),
        figure(BACON, "bacon, immersion", "120", most(bacon(Way::Equilibrium))),
        figure(BACON, "bacon, dry cured", "200", most(bacon(Way::DryCured))),
        figure(
            BACON,
            "bacon, pumped: nitrate",
            "0",
            most(Ask { substance: Substance::Nitrate, ..bacon(Way::Pumped) }),
        ),
        figure(
            BACON,
            "bacon, immersion: nitrate",
            "0",
            most(Ask { substance: Substance::Nitrate, ..bacon(Way::PickUp) }),
        ),
        figure(
            BACON,
            "bacon, dry cured: nitrate",
            "0",
            most(Ask { substance: Substance::Nitrate, ..bacon(Way::DryCured) }),
        ),
        figure(
            BACON,
            "bacon, pumped: ascorbate or erythorbate required",
            "550",
            required(Ask { substance: Substance::Ascorbate, ..bacon(Way::Pumped) }),
        ),
        figure(HANDBOOK, "refrigerated cured product, the least", "120", least(way(Way::DryCured))),
        figure(
            HOME,
            "directions of a home-cure mix, nitrite in the finished meat",
            "200",
            by_key("us-home-cure-nitrite"),
        ),
        figure(
            HOME,
            "directions of a home-cure mix, nitrate in the finished meat",
            "500",
            by_key("us-home-cure-nitrate"),
        ),
    ]
}

fn others() -> Vec<Published> {
    let eu = |on, product| Ask { of: Jurisdiction::EuropeanUnion, on, product, way: Way::DryCured, ..US };
    let (before, after) = (date!(2025 - 10 - 08), date!(2025 - 10 - 09));
    let residual = Ask { measured: Measured::Residual, ..eu(before, Product::Traditional) };
    let canada = |product| Ask { of: Jurisdiction::Canada, product, ..US };
    let stated = |ask: Ask| found(ask)[0].stated.word();
    vec![
        figure(
            EU_BEFORE,
            "nitrite added, the day before the change",
            "150",
            most(eu(before, Product::Other)),
        ),
        figure(
            EU_BEFORE,
            "nitrite added, heat-treated, the day before",
            "150",
            most(eu(before, Product::HeatTreated)),
        ),
        figure(EU_BEFORE, "the day before: stated as", "NaNO2", stated(eu(before, Product::Other))),
        figure(EU_BEFORE, "sterilised, the day before", "100", most(eu(before, Product::Sterilised))),
        figure(EU, "nitrite added, from 9 October 2025", "80", most(eu(after, Product::Other))),
        figure(EU, "nitrite added, heat-treated, from that day", "80", most(eu(after, Product::HeatTreated))),
        figure(EU, "from that day: stated as", "NO2", stated(eu(after, Product::Other))),
        figure(EU, "sterilised, Fo over 3.00, from that day", "55", most(eu(after, Product::Sterilised))),
        figure(SI, "traditional, residual by product", "175, 100, 50", most(residual)),
        figure(CFIA, "nitrite, of the whole raw batch", "200", most(canada(Product::Other))),
        figure(CFIA, "side bacon", "120", most(canada(Product::Bacon))),
        figure(
            CFIA,
            "nitrate, slow cured",
            "200",
            most(Ask { substance: Substance::Nitrate, ..canada(Product::Other) }),
        ),
        figure(CFIA, "curing means at least", "100", least(canada(Product::Other))),
        figure(CFIA, "its base", "whole batch, raw", found(canada(Product::Other))[0].base.word()),
    ]
}

/// How a weighing stands to a limit of the lists.
fn stands(
    of: Jurisdiction,
    key: &str,
    curing: Curing,
    meat: Decimal,
    puts: &[(Decimal, Brings)],
) -> &'static str {
    let rows = shipped(of).unwrap().limits;
    let row = rows.into_iter().find(|row| row.key == key).unwrap();
    let puts: Vec<Put> =
        puts.iter().map(|(weight, brings)| Put { weight: *weight, brings: *brings }).collect();
    let goes_in = GoesIn::new(curing, meat, &puts, None).unwrap();
    match row.judge(row.figure(&goes_in)) {
        Stands::Within => "within",
        Stands::Below => "below",
        Stands::Over => "over",
    }
}

fn cure(nitrite: Decimal) -> Brings {
    Brings { nitrite: Percent::new(nitrite), ..Brings::NOTHING }
}

fn nitrate(nitrate: Decimal) -> Brings {
    Brings { nitrate: Percent::new(nitrate), ..Brings::NOTHING }
}

fn at_the_limit() -> Vec<Published> {
    let us = |key, way, meat, weight, brings| {
        stands(Jurisdiction::UnitedStates, key, Curing::plain(way), meat, &[(weight, brings)])
    };
    // A hundred pounds in ounces.
    let lb = dec!(1600);
    let pure = cure(dec!(100));
    let pure_nitrate = nitrate(dec!(100));
    let step = dec!(0.0001);
    let mut all = vec![
        figure(
            CFR,
            "4 oz of a 6.25 % cure to 100 lb, comminuted",
            "within",
            us("us-comminuted-nitrite", Way::Comminuted, lb, dec!(4), cure(dec!(6.25))),
        ),
        figure(
            CFR,
            "4.0001 oz of it",
            "over",
            us("us-comminuted-nitrite", Way::Comminuted, lb, dec!(4) + step, cure(dec!(6.25))),
        ),
        figure(
            HANDBOOK,
            "7.8 g/kg of a 6.25 % cure, dry, under 625",
            "within",
            us("us-dry-nitrite", Way::DryCured, dec!(1000), dec!(7.8), cure(dec!(6.25))),
        ),
        figure(
            BACON,
            "the same in bacon, over 200",
            "over",
            us("us-bacon-dry-nitrite", Way::DryCured, dec!(1000), dec!(7.8), cure(dec!(6.25))),
        ),
        figure(
            BACON,
            "0.32 oz of nitrite to 100 lb, exactly 200",
            "within",
            us("us-bacon-dry-nitrite", Way::DryCured, lb, dec!(0.32), pure),
        ),
        figure(
            BACON,
            "0.3201 oz of it",
            "over",
            us("us-bacon-dry-nitrite", Way::DryCured, lb, dec!(0.32) + step, pure),
        ),
        figure(
            BACON,
            "any nitrate in bacon",
            "over",
            us("us-bacon-nitrate", Way::DryCured, lb, step, pure_nitrate),
        ),
    ];
    for (case, key, way, ounces, brings) in [
        ("1/4 oz of nitrite to 100 lb", "us-comminuted-nitrite", Way::Comminuted, dec!(0.25), pure),
        ("1 oz of nitrite to 100 lb", "us-dry-nitrite", Way::DryCured, dec!(1), pure),
        ("2 3/4 oz of nitrate to 100 lb", "us-comminuted-nitrate", Way::Comminuted, dec!(2.75), pure_nitrate),
        ("3 1/2 oz of nitrate to 100 lb", "us-dry-nitrate", Way::DryCured, dec!(3.5), pure_nitrate),
    ] {
        all.push(figure(CFR, case, "within", us(key, way, lb, ounces, brings)));
        all.push(figure(
            CFR,
            format!("{case}, and 0.0001 oz"),
            "over",
            us(key, way, lb, ounces + step, brings),
        ));
    }
    // 2 lb of nitrite to 100 gal of pickle at 10 lb to the gallon, pumped at 10 %.
    let pickle = |nitrite: Decimal| [(nitrite, pure), (dec!(1000) - nitrite, Brings::NOTHING)];
    let pumped = |pump| Curing { pump: Percent::new(pump), ..Curing::plain(Way::Pumped) };
    let us_pumped = |pump, nitrite| {
        stands(Jurisdiction::UnitedStates, "us-pumped-nitrite", pumped(pump), dec!(5000), &pickle(nitrite))
    };
    all.extend([
        figure(CFR, "2 lb of nitrite to 100 gal at 10 % pump", "within", us_pumped(dec!(10), dec!(2))),
        figure(CFR, "2.0001 lb of it", "over", us_pumped(dec!(10), dec!(2) + step)),
        figure(CFR, "2 lb of it at 10.0001 % pump", "over", us_pumped(dec!(10.0001), dec!(2))),
    ]);
    let bacon = |grams| {
        let brine = [(grams, pure), (dec!(1000) - grams, Brings::NOTHING)];
        stands(Jurisdiction::UnitedStates, "us-bacon-pumped-nitrite", pumped(dec!(10)), dec!(10000), &brine)
    };
    all.extend([
        figure(BACON, "bacon pumped to 144 ppm", "within", bacon(dec!(1.44))),
        figure(BACON, "bacon pumped to 144.01 ppm", "over", bacon(dec!(1.4401))),
        figure(BACON, "bacon pumped to 96 ppm", "within", bacon(dec!(0.96))),
        figure(BACON, "bacon pumped to 95.99 ppm", "below", bacon(dec!(0.9599))),
    ]);
    let canada = |grams| {
        let puts = [(grams, pure), (dec!(1000) - grams, Brings::NOTHING)];
        stands(Jurisdiction::Canada, "ca-nitrite", Curing::plain(Way::Comminuted), dec!(9000), &puts)
    };
    all.extend([
        figure(CFIA, "2 g of nitrite in 10 kg of raw batch, 9 kg of it meat", "within", canada(dec!(2))),
        figure(CFIA, "2.0001 g of it", "over", canada(dec!(2) + step)),
    ]);
    all
}

fn check_values() -> Vec<Published> {
    let ppm = |curing, meat, puts: &[(Decimal, Brings)], stated, places| {
        let puts: Vec<Put> =
            puts.iter().map(|(weight, brings)| Put { weight: *weight, brings: *brings }).collect();
        let goes_in = GoesIn::new(curing, meat, &puts, None).unwrap();
        goes_in.figure(Substance::Nitrite, stated, Base::ByMethod).exact().round_dp(places).normalize()
    };
    let dry = Curing::plain(Way::DryCured);
    let sodium = StatedAs::SodiumNitrite;
    // 567 g injected into 5,670 g: a tenth; brine of 2 parts cure (0.75 % nitrite) to 8.33 parts of water.
    let injected = Curing { pump: Percent::new(dec!(10)), ..Curing::plain(Way::Pumped) };
    let brine = [(dec!(2), cure(dec!(0.75))), (dec!(8.33), Brings::NOTHING)];
    let potassium = Brings { nitrite_salt: Alkali::Potassium, ..cure(dec!(100)) };
    vec![
        figure(
            HANDBOOK,
            "1 g of nitrite on 5,000 g",
            "200",
            ppm(dry, dec!(5000), &[(dec!(1), cure(dec!(100)))], sodium, 4),
        ),
        figure(
            HANDBOOK,
            "0.750 g on 5,000 g",
            "150",
            ppm(dry, dec!(5000), &[(dec!(0.75), cure(dec!(100)))], sodium, 4),
        ),
        figure(
            HANDBOOK,
            "567 g of that brine injected into 5,670 g",
            "145.2",
            ppm(injected, dec!(5670), &brine, sodium, 1),
        ),
        figure(
            BACON,
            "120 ppm NaNO2 as KNO2",
            "148",
            ppm(dry, dec!(1000), &[(dec!(0.12), cure(dec!(100)))], StatedAs::PotassiumNitrite, 1),
        ),
        figure(
            BACON,
            "148.02 ppm KNO2 as NaNO2",
            "120",
            ppm(dry, dec!(1000), &[(dec!(0.14802), potassium)], sodium, 1),
        ),
        figure(
            EU,
            "80 mg of NO2 is so much NaNO2",
            "120",
            (dec!(80) * dec!(68.995) / dec!(46.005)).round_dp(0),
        ),
        figure(
            EU,
            "120 ppm NaNO2 as NO2, to a whole",
            "80",
            ppm(dry, dec!(1000), &[(dec!(0.12), cure(dec!(100)))], StatedAs::NitriteIon, 0),
        ),
        figure(
            EU,
            "82.5 ppm NaNO2 as NO2, to a whole",
            "55",
            ppm(dry, dec!(1000), &[(dec!(0.0825), cure(dec!(100)))], StatedAs::NitriteIon, 0),
        ),
        figure(
            "Ontario fish plant guidelines, F.B.14.14",
            "3.0 % salt at 65 % moisture",
            "4.41",
            water_phase_salt(dec!(3), dec!(65)).unwrap().round_dp(2),
        ),
        figure(
            "Ontario fish plant guidelines, F.B.14.14",
            "2.8 % salt and 60 % water after a loss of 35 %",
            "10.07",
            water_phase_salt(dec!(2.8) / dec!(0.65), dec!(25) / dec!(0.65)).unwrap().round_dp(2),
        ),
    ]
}

pub fn figures() -> Vec<Published> {
    [united_states(), others(), at_the_limit(), check_values()].into_iter().flatten().collect()
}
