//! What an instrument is held against, and how far off it may be.

use rust_decimal::{Decimal, dec};
use serde::{Deserialize, Serialize};

use crate::measure::{Celsius, Grams, Humidity, Ph, TemperatureUnit, UnitSystem, WaterActivity};
use crate::setup::entry::Measures;
use crate::standards::instruments::{self, ScaleTest};

/// What an instrument showed, in its own unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shown {
    Temperature(Celsius),
    Weight(Grams),
    Ph(Ph),
    WaterActivity(WaterActivity),
    Humidity(Humidity),
}

impl Shown {
    /// With its unit.
    pub fn text(self, system: UnitSystem) -> String {
        match self {
            Self::Temperature(value) => value.text(system),
            Self::Weight(value) => format!("{}\u{a0}g", value.decimal().normalize()),
            Self::Ph(value) => value.text(),
            Self::WaterActivity(value) => value.text(),
            Self::Humidity(value) => value.text(),
        }
    }
}

/// Something whose true value is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "known", rename_all = "kebab-case")]
pub enum Known {
    /// Crushed ice with a little water, stirred.
    Ice {
        scale: TemperatureUnit,
    },
    /// Boiling water, so many feet above the sea.
    Boiling {
        feet: Decimal,
        scale: TemperatureUnit,
    },
    /// A test weight on a scale of this division, in use.
    TestWeight {
        load: Grams,
        division: Grams,
    },
    Buffer {
        ph: Ph,
    },
    /// The air over a saturated salt at 25 °C.
    Salt {
        name: String,
        aw: WaterActivity,
    },
    /// A reference hygrometer or a salt for humidity, with the tolerance that the maker gives.
    Air {
        humidity: Humidity,
        tolerance: Decimal,
    },
}

impl Known {
    /// What kind of instrument it is for.
    pub fn measures(&self) -> Measures {
        match self {
            Self::Ice { .. } | Self::Boiling { .. } => Measures::Temperature,
            Self::TestWeight { .. } => Measures::Weight,
            Self::Buffer { .. } => Measures::Ph,
            Self::Salt { .. } => Measures::WaterActivity,
            Self::Air { .. } => Measures::Humidity,
        }
    }

    /// `melting ice`, `buffer pH 7.00`.
    pub fn name(&self) -> String {
        match self {
            Self::Ice { .. } => "melting ice".into(),
            Self::Boiling { feet, .. } => format!("boiling water {} ft up", feet.round()),
            Self::TestWeight { load, .. } => format!("test weight {}\u{a0}g", load.decimal().normalize()),
            Self::Buffer { ph } => format!("buffer {}", ph.text()),
            Self::Salt { name, aw } => format!("{name}, {}", aw.text()),
            Self::Air { humidity, .. } => format!("air of {}", humidity.text()),
        }
    }

    /// How far off the instrument may be, in words, with where that is from.
    pub fn tolerance(&self) -> String {
        let thermometer = |scale: &TemperatureUnit| match scale {
            TemperatureUnit::Fahrenheit => "within 2\u{a0}°F (FDA Food Code 4-203.11)".to_owned(),
            TemperatureUnit::Celsius => "within 1\u{a0}°C (FDA Food Code 4-203.11)".to_owned(),
        };
        match self {
            Self::Ice { scale } | Self::Boiling { scale, .. } => thermometer(scale),
            Self::TestWeight { load, division } => {
                let most = instruments::scale_tolerance(*load, *division, ScaleTest::Maintenance);
                let most = most.map_or_else(String::new, |most| most.normalize().to_string());
                format!("within {most}\u{a0}g (NIST Handbook 44, class III; from memory, to be confirmed)")
            }
            Self::Buffer { .. } => "within 0.05 (makers' instructions; from memory, to be confirmed)".into(),
            Self::Salt { .. } => "within 0.005 (makers' instructions; from memory, to be confirmed)".into(),
            Self::Air { tolerance, .. } => {
                format!("within {} %RH (the maker's own figure)", tolerance.normalize())
            }
        }
    }

    /// Whether what it showed is within the tolerance; exactly at it passes. A value of another quantity does not.
    pub fn passes(&self, shown: Shown) -> bool {
        match (self, shown) {
            (Self::Ice { scale }, Shown::Temperature(value)) => instruments::ice_passes(value, *scale),
            (Self::Boiling { feet, scale }, Shown::Temperature(value)) => {
                instruments::boiling_passes(value, *feet, *scale).unwrap_or(false)
            }
            (Self::TestWeight { load, division }, Shown::Weight(value)) => {
                instruments::scale_tolerance(*load, *division, ScaleTest::Maintenance)
                    .is_some_and(|most| (value - *load).abs().decimal() <= most)
            }
            (Self::Buffer { ph }, Shown::Ph(value)) => instruments::reads_again(*ph, value),
            (Self::Salt { aw, .. }, Shown::WaterActivity(value)) => instruments::salt_passes(*aw, value),
            (Self::Air { humidity, tolerance }, Shown::Humidity(value)) => {
                (value.decimal() - humidity.decimal()).abs() <= *tolerance
            }
            _ => false,
        }
    }

    /// Whether it can be held against at all.
    pub fn fits(&self) -> Result<(), &'static str> {
        match self {
            Self::Boiling { feet, .. } if instruments::boiling(*feet).is_none() => {
                Err("The table of boiling points goes from 0 to 10,000 ft (3,048 m).")
            }
            Self::TestWeight { load, division } if !load.is_positive() || !division.is_positive() => {
                Err("The test weight and the scale's division are more than nothing.")
            }
            Self::Air { tolerance, .. } if *tolerance <= Decimal::ZERO || *tolerance > dec!(20) => {
                Err("A hygrometer's tolerance is more than 0 and at most 20 %RH.")
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(hundredths: i32) -> Shown {
        Shown::Temperature(Celsius::hundredths(hundredths))
    }

    #[test]
    fn a_thermometer_one_degree_off_in_ice_passes_and_a_hundredth_more_does_not() {
        // FDA Food Code 4-203.11: ±1 °C where it shows Celsius, ±2 °F where it shows Fahrenheit alone.
        let ice = Known::Ice { scale: TemperatureUnit::Celsius };
        assert!(ice.passes(celsius(100)) && ice.passes(celsius(-100)));
        assert!(!ice.passes(celsius(101)) && !ice.passes(celsius(-101)));
        let ice = Known::Ice { scale: TemperatureUnit::Fahrenheit };
        assert!(ice.passes(celsius(111)) && !ice.passes(celsius(117)));
    }

    #[test]
    fn a_scale_is_let_off_by_its_divisions() {
        // NIST Handbook 44, class III, maintenance, from memory: one division up to 500 of them, two up to 2,000.
        let weight = |load, shown| {
            let known = Known::TestWeight { load: Grams::whole(load), division: Grams::whole(1) };
            known.passes(Shown::Weight(Grams::whole(shown)))
        };
        assert!(weight(500, 501) && !weight(500, 502));
        assert!(weight(1_000, 998) && !weight(1_000, 997));
    }

    #[test]
    fn what_is_shown_in_another_quantity_never_passes() {
        let seven = Known::Buffer { ph: Ph::hundredths(700) };
        assert!(
            seven.passes(Shown::Ph(Ph::hundredths(705))) && !seven.passes(Shown::Ph(Ph::hundredths(706)))
        );
        assert!(!seven.passes(celsius(700)));
    }

    #[test]
    fn water_boils_only_where_the_table_goes() {
        let at = |feet| Known::Boiling { feet, scale: TemperatureUnit::Celsius }.fits();
        assert!(at(dec!(0)).is_ok() && at(dec!(10000)).is_ok());
        assert!(at(dec!(10001)).is_err() && at(dec!(-1)).is_err());
    }

    #[test]
    fn every_known_thing_reads_back_from_its_body() {
        let all = [
            Known::Ice { scale: TemperatureUnit::Celsius },
            Known::Boiling { feet: dec!(500), scale: TemperatureUnit::Fahrenheit },
            Known::TestWeight { load: Grams::whole(1_000), division: Grams::whole(1) },
            Known::Buffer { ph: Ph::hundredths(401) },
            Known::Salt { name: "sodium chloride".into(), aw: WaterActivity::thousandths(753) },
            Known::Air { humidity: Humidity::whole(75), tolerance: dec!(3) },
        ];
        for known in all {
            let body = serde_json::to_string(&known).expect("a body");
            assert_eq!(serde_json::from_str::<Known>(&body).expect("reads back"), known);
            assert!(!known.name().is_empty() && known.tolerance().starts_with("within"));
        }
    }
}
