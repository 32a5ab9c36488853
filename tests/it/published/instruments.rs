//! What instruments must show: ice, boiling water by height, saturated salts, test weights.

use flitchbook::measure::{Celsius, Grams, Ph, TemperatureUnit, WaterActivity};
use flitchbook::standards::fahrenheit;
use flitchbook::standards::instruments::{
    SALTS, ScaleTest, boiling, ice_passes, salt_passes, scale_tolerance, two_buffers,
};
use rust_decimal::{Decimal, dec};

use super::{Published, figure};

const ICE: &str = "FDA Food Code 4-203.11";
const BOILING: &str = "standard atmosphere and vapour pressure of water";
const SALT: &str = "saturated salts at 25 °C, from memory";
const SCALE: &str = "NIST Handbook 44, 2.20, table 6, from memory";

fn passes(passes: bool) -> &'static str {
    if passes { "passes" } else { "fails" }
}

pub fn figures() -> Vec<Published> {
    let mut figures = Vec::new();
    for (degrees, says) in [(30, "passes"), (34, "passes"), (29, "fails"), (35, "fails")] {
        let found = passes(ice_passes(fahrenheit(degrees), TemperatureUnit::Fahrenheit));
        figures.push(figure(ICE, format!("{degrees} °F in ice, Fahrenheit alone"), says, found));
    }
    for (hundredths, says) in [(-100, "passes"), (100, "passes"), (-101, "fails"), (101, "fails")] {
        let found = passes(ice_passes(Celsius::hundredths(hundredths), TemperatureUnit::Celsius));
        figures.push(figure(ICE, format!("{hundredths} hundredths of °C in ice"), says, found));
    }
    let rows = [
        (0, "212.0"),
        (500, "211.1"),
        (1_000, "210.2"),
        (2_000, "208.4"),
        (3_000, "206.5"),
        (4_000, "204.7"),
        (5_000, "202.9"),
        (6_000, "201.1"),
        (7_000, "199.3"),
        (8_000, "197.4"),
        (9_000, "195.6"),
        (10_000, "193.8"),
    ];
    for (feet, says) in rows {
        let found = boiling(Decimal::from(feet)).map(|degrees| format!("{degrees:.1}")).unwrap_or_default();
        figures.push(figure(BOILING, format!("°F at {feet} ft"), says, found));
    }
    for (salt, says) in [
        ("magnesium chloride", 328),
        ("sodium chloride", 753),
        ("ammonium sulfate", 810),
        ("potassium chloride", 843),
        ("potassium sulfate", 973),
    ] {
        let found = SALTS.iter().find(|(name, _)| *name == salt).map_or(0, |(_, aw)| *aw);
        figures.push(figure(SALT, format!("aw over {salt}, thousandths"), says, found));
        let aw = WaterActivity::thousandths(says);
        for (off, says) in [(5, "passes"), (6, "fails")] {
            let found = passes(salt_passes(aw, WaterActivity::thousandths(aw_thousandths(aw) + off)));
            figures.push(figure(SALT, format!("{salt}, {off} thousandths too high"), says, found));
        }
    }
    let loads = [(500, 1), (501, 2), (2_000, 2), (2_001, 3), (4_000, 3), (4_001, 5), (10_000, 5)];
    for (divisions, says) in loads {
        let found = scale_tolerance(Grams::whole(divisions), Grams::whole(1), ScaleTest::Maintenance);
        let found = found.map(|grams| grams.normalize().to_string()).unwrap_or_default();
        figures.push(figure(SCALE, format!("divisions at {divisions}"), says, found));
    }
    let half =
        scale_tolerance(Grams::whole(2_000), Grams::whole(1), ScaleTest::Acceptance).unwrap_or_default();
    figures.push(figure(SCALE, "divisions at 2,000, acceptance", 1, half.normalize()));
    let slope =
        two_buffers((Ph::hundredths(700), dec!(0)), (Ph::hundredths(400), dec!(177.48)), Celsius::whole(25));
    let slope = slope.map(|found| found.slope.round_dp(1).to_string()).unwrap_or_default();
    figures.push(figure("CODATA 2018, R ln 10 T/F at 25 °C: 59.16 mV", "slope, %", "100.0", slope));
    figures
}

fn aw_thousandths(aw: WaterActivity) -> u16 {
    u16::try_from((aw.decimal() * dec!(1000)).round()).unwrap_or_default()
}
