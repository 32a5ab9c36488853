//! The limits that a shop can start with. Each is the shop's own to change; the shop's regulator has the last word.

use super::limit::Applies;
use super::value::Value;
use crate::measure::{Celsius, Humidity, Ph, Ppm, UnitSystem};
use crate::recipes::Stage;
use crate::setup::entry::PlaceKind;

/// A limit that is offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Usual {
    pub name: &'static str,
    pub applies: Applies,
    pub least: Option<Value>,
    pub most: Option<Value>,
    pub source: &'static str,
}

/// The limits offered to a shop with none, by what it measures in: the figures that its own inspectors know.
pub fn usual(system: UnitSystem) -> Vec<Usual> {
    let [cooler, counter] = chilled(system);
    vec![
        cooler,
        counter,
        freezer(),
        curing_fridge(system),
        chamber_temperature(),
        chamber_humidity(),
        ph(),
        sanitizer(),
    ]
}

#[allow(clippy::unnecessary_wraps, reason = "what it gives stands for a bound, and a bound may be left open")]
fn celsius(hundredths: i32) -> Option<Value> {
    Some(Value::Temperature(Celsius::hundredths(hundredths)))
}

fn chilled(system: UnitSystem) -> [Usual; 2] {
    let (most, source) = match system {
        UnitSystem::Metric => (
            celsius(400),
            "Common practice for chilled meat. Compare Regulation (EC) 853/2004, Annex III: carcasses 7 °C, meat \
             preparations 4 °C, offal 3 °C, minced meat 2 °C.",
        ),
        UnitSystem::Us => (celsius(500), "FDA Food Code 3-501.16: 41 °F (5 °C) or colder."),
    };
    let of = |name, kind| Usual { name, applies: Applies::Kind(kind), least: None, most, source };
    [of("Coolers", PlaceKind::Cooler), of("Fresh counter", PlaceKind::Counter)]
}

fn freezer() -> Usual {
    Usual {
        name: "Freezers",
        applies: Applies::Kind(PlaceKind::Freezer),
        least: None,
        most: celsius(-1_800),
        source: "Common practice; Regulation (EC) 853/2004, Annex III, section V: frozen minced meat and preparations \
                 at \u{2212}18 °C or colder.",
    }
}

fn curing_fridge(system: UnitSystem) -> Usual {
    // 36 °F is 2.22 °C and 40 °F is 4.44 °C, to the hundredth.
    let (least, most) = match system {
        UnitSystem::Metric => (celsius(200), celsius(400)),
        UnitSystem::Us => (celsius(222), celsius(444)),
    };
    Usual {
        name: "Curing fridges",
        applies: Applies::Kind(PlaceKind::CuringFridge),
        least,
        most,
        source: "36 to 40 °F (2 to 4 °C) as in the USDA farmers' bulletins on curing pork; quoted from memory, to be \
                 confirmed.",
    }
}

fn chamber_temperature() -> Usual {
    Usual {
        name: "Chambers, temperature",
        applies: Applies::Kind(PlaceKind::Chamber),
        least: celsius(1_000),
        most: celsius(1_600),
        source: "The shop's own plan. 10 to 16 °C is common practice; write the band of your own plan.",
    }
}

fn chamber_humidity() -> Usual {
    Usual {
        name: "Chambers, humidity",
        applies: Applies::Kind(PlaceKind::Chamber),
        least: Some(Value::Humidity(Humidity::whole(65))),
        most: Some(Value::Humidity(Humidity::whole(85))),
        source: "The shop's own plan. 65 to 85 %RH is common practice; write the band of your own plan.",
    }
}

fn ph() -> Usual {
    Usual {
        name: "Fermented, pH at the end",
        applies: Applies::End(Stage::Fermenting),
        least: None,
        most: Some(Value::Ph(Ph::hundredths(530))),
        source: "FSIS guideline on ready-to-eat fermented, salt-cured and dried products (FSIS-GD-2023-0002): pH 5.3 \
                 or less against Staphylococcus aureus.",
    }
}

fn sanitizer() -> Usual {
    let ppm = |value: u16| Some(Value::Chlorine(Ppm::new(value.into())));
    Usual {
        name: "Sanitizer at the block",
        applies: Applies::Kind(PlaceKind::Block),
        least: ppm(50),
        most: ppm(200),
        source: "21 CFR 178.1010: at most 200 ppm available chlorine without rinsing. FDA Food Code 4-501.114: 50 ppm \
                 and more, by temperature and pH.",
    }
}

#[cfg(test)]
mod tests {
    use super::super::limit::{LimitWritten, write_limit};
    use super::*;
    use crate::ids::LimitId;
    use uuid::Uuid;

    #[test]
    fn every_usual_limit_is_one_that_could_be_written_and_names_its_source() {
        for system in UnitSystem::ALL {
            for usual in usual(system) {
                let quantity = usual.least.or(usual.most).expect("an end").quantity();
                let written = LimitWritten {
                    limit: LimitId(Uuid::from_u128(1)),
                    name: usual.name.into(),
                    quantity,
                    applies: usual.applies,
                    least: usual.least,
                    most: usual.most,
                    source: usual.source.into(),
                    only: vec![],
                    under: None,
                    retired: false,
                };
                assert!(!written.source.is_empty());
                assert!(write_limit(written).is_ok(), "{}", usual.name);
            }
        }
    }

    #[test]
    fn a_shop_in_the_united_states_is_offered_41_fahrenheit() {
        // FDA Food Code 3-501.16; 41 °F is 5 °C by definition of the scales.
        let coolers = usual(UnitSystem::Us).remove(0);
        assert_eq!(coolers.most.expect("an end").text(UnitSystem::Us), "41.0\u{a0}°F");
        let fridge = usual(UnitSystem::Us).remove(3);
        assert_eq!(super::super::band(fridge.least, fridge.most, UnitSystem::Us), "36.0 to 40.0\u{a0}°F");
    }
}
