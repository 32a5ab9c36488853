//! What an instrument must show to be trusted: melting ice, boiling water at the shop's height, two buffers, saturated salts,
//! test weights. Exactly at the tolerance passes.

use rust_decimal::{Decimal, dec};

use super::mark::{Mark, fahrenheit};
use crate::measure::{Celsius, Grams, Ph, TemperatureUnit, WaterActivity};

/// Where the tolerances of thermometers come from.
pub const THERMOMETER_SOURCE: (&str, Mark) = ("FDA Food Code 4-203.11", Mark::Read);

/// Lowest and highest that a thermometer may show in melting ice: ±2 °F where it shows Fahrenheit alone, ±1 °C otherwise.
pub fn ice_band(scale: TemperatureUnit) -> (Celsius, Celsius) {
    match scale {
        TemperatureUnit::Fahrenheit => (fahrenheit(30), fahrenheit(34)),
        TemperatureUnit::Celsius => (Celsius::whole(-1), Celsius::whole(1)),
    }
}

/// Whether a reading in melting ice passes.
pub fn ice_passes(reading: Celsius, scale: TemperatureUnit) -> bool {
    let (low, high) = ice_band(scale);
    (low..=high).contains(&reading)
}

/// Boiling point by height: feet, tenths of °F. Reckoned from the standard atmosphere and the vapour pressure of water; the
/// weather moves it by about 1 °F.
pub const BOILING: [(u16, u16); 12] = [
    (0, 2_120),
    (500, 2_111),
    (1_000, 2_102),
    (2_000, 2_084),
    (3_000, 2_065),
    (4_000, 2_047),
    (5_000, 2_029),
    (6_000, 2_011),
    (7_000, 1_993),
    (8_000, 1_974),
    (9_000, 1_956),
    (10_000, 1_938),
];

/// Metres in a foot, exact: NIST SP 811, appendix B.8.
pub const FOOT: Decimal = dec!(0.3048);

/// °F at which water boils so many feet up, in a straight line between the rows of [`BOILING`]. None below 0 and above
/// 10,000 ft.
pub fn boiling(feet: Decimal) -> Option<Decimal> {
    let pair = BOILING
        .windows(2)
        .find(|pair| Decimal::from(pair[0].0) <= feet && feet <= Decimal::from(pair[1].0))?;
    let [low, high] =
        [pair[0], pair[1]].map(|(feet, tenths)| (Decimal::from(feet), Decimal::new(tenths.into(), 1)));
    Some(low.1 + (high.1 - low.1) * (feet - low.0) / (high.0 - low.0))
}

/// Whether a reading in boiling water passes at that height: ±2 °F, or ±1 °C.
pub fn boiling_passes(reading: Celsius, feet: Decimal, scale: TemperatureUnit) -> Option<bool> {
    let expected = boiling(feet)?;
    let tolerance = match scale {
        TemperatureUnit::Fahrenheit => dec!(2),
        TemperatureUnit::Celsius => dec!(1.8),
    };
    // A reading in °F is kept to 0.01 °C: within half of that it is the figure that was typed.
    let off = (reading.fahrenheit() - expected).abs();
    Some(off <= tolerance + dec!(0.009))
}

/// A pH electrode in two buffers: slope in per cent of the theory at that temperature, and what it shows at pH 7, mV.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TwoBuffers {
    pub slope: Decimal,
    pub offset: Decimal,
}

/// Where the limits of two buffers come from.
pub const BUFFER_SOURCE: (&str, Mark) = ("makers' instructions", Mark::Memory);

/// Millivolts a pH for each kelvin: R ln 10 ÷ F (CODATA 2018).
const NERNST: Decimal = dec!(0.198415933);

/// The slope and offset of an electrode from what it shows, in mV, in two buffers at one temperature. None where both
/// buffers are the same.
pub fn two_buffers(first: (Ph, Decimal), second: (Ph, Decimal), temperature: Celsius) -> Option<TwoBuffers> {
    let apart = second.0.decimal() - first.0.decimal();
    if apart.is_zero() {
        return None;
    }
    let a_ph = (second.1 - first.1) / apart;
    let theory = NERNST * (temperature.decimal() + dec!(273.15));
    let slope = -a_ph * Decimal::ONE_HUNDRED / theory;
    let offset = first.1 + a_ph * (dec!(7) - first.0.decimal());
    Some(TwoBuffers { slope, offset })
}

impl TwoBuffers {
    /// Slope 95 to 105 %, offset within ±30 mV.
    pub fn passes(self) -> bool {
        (dec!(95)..=dec!(105)).contains(&self.slope) && self.offset.abs() <= dec!(30)
    }
}

/// Whether a buffer that is read again afterwards is within ±0.05.
pub fn reads_again(buffer: Ph, reading: Ph) -> bool {
    (buffer.decimal() - reading.decimal()).abs() <= dec!(0.05)
}

/// Saturated salts and their water activity at 25 °C, in thousandths. From memory, to be confirmed.
pub const SALTS: [(&str, u16); 5] = [
    ("magnesium chloride", 328),
    ("sodium chloride", 753),
    ("ammonium sulfate", 810),
    ("potassium chloride", 843),
    ("potassium sulfate", 973),
];

/// Whether a meter passes over a saturated salt: ±0.005.
pub fn salt_passes(salt: WaterActivity, reading: WaterActivity) -> bool {
    (salt.decimal() - reading.decimal()).abs() <= dec!(0.005)
}

/// When a scale is tested: fresh from the maker or the repair, or in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScaleTest {
    Acceptance,
    Maintenance,
}

/// Where the tolerance of a scale comes from.
pub const SCALE_SOURCE: (&str, Mark) = ("NIST Handbook 44, 2.20, table 6, class III", Mark::Memory);

/// How far off a scale of class III may be under a load, in grams. Maintenance: 1 division up to 500 divisions, 2 up to 2,000, 3
/// up to 4,000, 5 above; acceptance is half of that. None where the division is nothing.
pub fn scale_tolerance(load: Grams, division: Grams, test: ScaleTest) -> Option<Decimal> {
    if !division.is_positive() {
        return None;
    }
    let divisions = load.decimal().abs() / division.decimal();
    let most = if divisions <= dec!(500) {
        dec!(1)
    } else if divisions <= dec!(2000) {
        dec!(2)
    } else if divisions <= dec!(4000) {
        dec!(3)
    } else {
        dec!(5)
    };
    let part = match test {
        ScaleTest::Acceptance => dec!(0.5),
        ScaleTest::Maintenance => dec!(1),
    };
    Some(most * part * division.decimal())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn ice_passes_exactly_at_its_tolerance() {
        let at = |hundredths, scale| ice_passes(Celsius::hundredths(hundredths), scale);
        let f = TemperatureUnit::Fahrenheit;
        assert!(ice_passes(fahrenheit(30), f) && ice_passes(fahrenheit(34), f));
        assert!(!at(112, f) && !at(-112, f));
        let c = TemperatureUnit::Celsius;
        assert!(at(100, c) && at(-100, c) && !at(101, c) && !at(-101, c));
    }

    #[test]
    fn boiling_is_read_between_the_rows() {
        assert_eq!(boiling(dec!(1500)), Some(dec!(209.3)));
        assert_eq!((boiling(dec!(-1)), boiling(dec!(10001))), (None, None));
        let at = |degrees| boiling_passes(fahrenheit(degrees), dec!(0), TemperatureUnit::Fahrenheit);
        assert_eq!((at(210), at(214), at(209), at(215)), (Some(true), Some(true), Some(false), Some(false)));
        let at =
            |hundredths| boiling_passes(Celsius::hundredths(hundredths), dec!(0), TemperatureUnit::Celsius);
        assert_eq!(
            (at(10_100), at(10_102), at(9_900), at(9_898)),
            (Some(true), Some(false), Some(true), Some(false))
        );
        assert_eq!(boiling_passes(fahrenheit(200), dec!(20000), TemperatureUnit::Celsius), None);
    }

    #[test]
    fn two_buffers_give_slope_and_offset() {
        let (four, seven) = (Ph::hundredths(400), Ph::hundredths(700));
        // Theory at 25 °C is 59.16 mV a pH.
        let ideal = two_buffers((seven, dec!(0)), (four, dec!(177.48)), Celsius::whole(25)).unwrap();
        assert_eq!(ideal.slope.round_dp(2), dec!(100.00));
        assert!(ideal.offset.is_zero() && ideal.passes());
        let off = |at_seven: &str, at_four: &str| {
            let read = |text: &str| text.parse().unwrap();
            two_buffers((seven, read(at_seven)), (four, read(at_four)), Celsius::whole(25)).unwrap()
        };
        assert!(off("30", "207").passes() && !off("30.1", "207.1").passes());
        assert!(!off("0", "168").passes() && !off("0", "187").passes());
        assert_eq!(two_buffers((four, dec!(1)), (four, dec!(2)), Celsius::whole(25)), None);
        assert!(reads_again(seven, Ph::hundredths(705)) && !reads_again(seven, Ph::hundredths(706)));
    }

    #[test]
    fn salts_and_weights_pass_exactly_at_their_tolerance() {
        let salt = WaterActivity::thousandths(753);
        assert!(
            salt_passes(salt, WaterActivity::thousandths(758))
                && salt_passes(salt, WaterActivity::thousandths(748))
        );
        assert!(!salt_passes(salt, WaterActivity::thousandths(759)));
        let at = |load: i64, test| scale_tolerance(Grams::whole(load), Grams::whole(1), test);
        let kept = |load| at(load, ScaleTest::Maintenance);
        assert_eq!(
            (kept(500), kept(501), kept(2000), kept(2001)),
            (Some(dec!(1)), Some(dec!(2)), Some(dec!(2)), Some(dec!(3)))
        );
        assert_eq!((kept(4000), kept(4001)), (Some(dec!(3)), Some(dec!(5))));
        assert_eq!(at(500, ScaleTest::Acceptance), Some(dec!(0.5)));
        assert_eq!(scale_tolerance(Grams::whole(500), Grams::ZERO, ScaleTest::Acceptance), None);
    }

    proptest! {
        #[test]
        fn water_boils_cooler_the_higher_one_is(feet in 0_i64..9_999, more in 1_i64..5_000) {
            let higher = Decimal::from((feet + more).min(10_000));
            prop_assert!(boiling(higher).unwrap() < boiling(Decimal::from(feet)).unwrap());
        }

        #[test]
        fn a_heavier_load_never_has_the_smaller_tolerance(load in 1_i64..20_000, more in 0_i64..20_000, division in 1_i64..50) {
            let at = |load| scale_tolerance(Grams::whole(load), Grams::whole(division), ScaleTest::Maintenance).unwrap();
            prop_assert!(at(load + more) >= at(load));
        }
    }
}
