//! Salt in the water phase: Ontario fish processing guidelines F.B.14.14. Water activity of salt in water: Chirife and del Pilar
//! Buera 1996, each row at its own salt and a step below it.

use flitchbook::measure::Percent;
use flitchbook::standards::water_phase::{SATURATED, SaltAndWater, of_molality};
use rust_decimal::{Decimal, dec};

use super::{Published, figure, printed};

const GUIDELINES: &str = "Ontario fish processing guidelines F.B.14.14, arithmetic on its form";
const LIST: &str = "Chirife and del Pilar Buera 1996, g of salt to 100 g of water";

fn of(salt: Decimal, water: Decimal) -> SaltAndWater {
    SaltAndWater::new(Percent::new(salt), Percent::new(water)).unwrap()
}

/// What is read off the list for so many grams of salt to 100 g of water.
fn bound(grams: Decimal) -> String {
    of(grams / dec!(2), dec!(50)).at_most().map_or_else(|| "none".to_owned(), |activity| activity.to_string())
}

pub fn figures() -> Vec<Published> {
    let raw = of(dec!(2.8), dec!(60));
    let dried = raw.dried(Percent::new(dec!(35))).unwrap();
    let mut all = vec![
        figure(
            GUIDELINES,
            "3.0 % salt at 65 % moisture",
            "4.41",
            printed(of(dec!(3), dec!(65)).water_phase_salt(), 2),
        ),
        figure(GUIDELINES, "2.8 % and 60 % at 35 % loss, salt", "4.31", printed(dried.salt(), 2)),
        figure(GUIDELINES, "2.8 % and 60 % at 35 % loss, water", "38.46", printed(dried.water(), 2)),
        figure(
            GUIDELINES,
            "2.8 % and 60 % at 35 % loss, water phase",
            "10.07",
            printed(dried.water_phase_salt(), 2),
        ),
        figure("published, 0.753 to 0.755", "saturated salt at 25 °C", "0.753", SATURATED),
        figure(
            "molar mass of NaCl",
            "6 mol/kg in g to 100 g of water",
            "35.07",
            printed(of_molality(dec!(6)), 2),
        ),
    ];
    let rows = [
        (dec!(3.5), "0.98", "none"),
        (dec!(7), "0.96", "0.98"),
        (dec!(10), "0.94", "0.96"),
        (dec!(13), "0.92", "0.94"),
        (dec!(16), "0.90", "0.92"),
        (dec!(19.4), "0.88", "0.90"),
        (dec!(22), "0.86", "0.88"),
    ];
    for (grams, activity, before) in rows {
        all.push(figure(LIST, grams, activity, bound(grams)));
        all.push(figure(LIST, format!("a step below {grams}"), before, bound(grams - dec!(0.0002))));
    }
    all
}
