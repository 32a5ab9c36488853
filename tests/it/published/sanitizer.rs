//! FDA Food Code 4-501.114 and 4-703.11(C), and 21 CFR 178.1010: each row, and one step past it.

use flitchbook::measure::{Percent, Ph};
use flitchbook::standards::sanitizer::{
    Label, OTHER_CONTACT, by_mass, chlorine, chlorine_contact, coldest, iodine, quat,
};
use flitchbook::standards::{Held, State, fahrenheit};
use rust_decimal::{Decimal, dec};

use super::{Published, figure};

const CODE: &str = "FDA Food Code 4-501.114";
const CONTACT: &str = "FDA Food Code 4-703.11(C)";
const CAP: &str = "21 CFR 178.1010(c)(1); 40 CFR 180.940(a)";

fn worst(held: Vec<Held>) -> &'static str {
    held.into_iter().map(|one| one.state).max().unwrap_or(State::Missing).word()
}

pub fn figures() -> Vec<Published> {
    let mut figures = Vec::new();
    // ppm, pH in hundredths, coldest in °F.
    let rows: [(Decimal, u16, &str); 15] = [
        (dec!(24.9), 800, "none"),
        (dec!(25), 1_000, "120"),
        (dec!(25), 800, "120"),
        (dec!(49), 1_000, "120"),
        (dec!(49), 800, "120"),
        (dec!(50), 1_000, "100"),
        (dec!(50), 801, "100"),
        (dec!(50), 800, "75"),
        (dec!(99), 1_000, "100"),
        (dec!(99), 800, "75"),
        (dec!(100), 1_000, "55"),
        (dec!(100), 800, "55"),
        (dec!(100), 1_001, "none"),
        (dec!(50), 1_001, "none"),
        (dec!(200), 1_000, "55"),
    ];
    for (ppm, ph, says) in rows {
        let ph = Ph::hundredths(ph);
        let found = coldest(ppm, Some(ph)).map_or("none".into(), |degrees| degrees.to_string());
        figures.push(figure(CODE, format!("coldest for {ppm} ppm at {}", ph.text()), says, found));
    }
    let at = |ppm| worst(chlorine(ppm, Some(fahrenheit(55)), Some(Ph::hundredths(1_000))));
    figures.push(figure(CAP, "200 ppm, not rinsed", "met", at(dec!(200))));
    figures.push(figure(CAP, "200.1 ppm, not rinsed", "not met", at(dec!(200.1))));
    for (ppm, degrees, ph, says) in
        [(50, 100, 1_000, 7), (50, 75, 800, 7), (50, 99, 1_000, 10), (50, 74, 800, 10), (100, 55, 1_000, 10)]
    {
        let found = chlorine_contact(ppm.into(), Some(fahrenheit(degrees)), Some(Ph::hundredths(ph)));
        figures.push(figure(
            CONTACT,
            format!("seconds at {ppm} ppm, {degrees} °F, pH {ph} hundredths"),
            says,
            found,
        ));
    }
    figures.push(figure(CONTACT, "seconds, others", 30, OTHER_CONTACT));
    for (ppm, degrees, ph, says) in [
        (dec!(12.5), 68, 500, "met"),
        (dec!(12.4), 68, 500, "not met"),
        (dec!(25), 68, 500, "met"),
        (dec!(25.1), 68, 500, "not met"),
        (dec!(20), 67, 500, "not met"),
        (dec!(20), 68, 501, "not met"),
    ] {
        let found = worst(iodine(ppm, Some(fahrenheit(degrees)), Some(Ph::hundredths(ph))));
        figures.push(figure(
            CODE,
            format!("iodine, {ppm} ppm, {degrees} °F, pH {ph} hundredths"),
            says,
            found,
        ));
    }
    for (degrees, hardness, says) in
        [(75, dec!(500), "met"), (74, dec!(500), "not met"), (75, dec!(501), "not met")]
    {
        let label = (dec!(200), dec!(400));
        let found = worst(quat(dec!(200), label, Some(fahrenheit(degrees)), Some(hardness)));
        figures.push(figure(
            CODE,
            format!("quaternary ammonium, {degrees} °F, {hardness} mg/L hard"),
            says,
            found,
        ));
    }
    let mass = by_mass(Percent::new(dec!(5.25)), Label::Hypochlorite, dec!(1), dec!(384)).ok().flatten();
    let factor = mass.map(|mass| (mass.chlorine / mass.labelled).round_dp(4)).unwrap_or_default();
    figures.push(figure("molar masses 70.906 and 74.442 g/mol", "chlorine in NaOCl", "0.9525", factor));
    figures
}
