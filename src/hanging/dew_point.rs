//! The dew point of the air in a chamber: what of it would wet a piece that is colder. For drawing; nothing rests on it.
//!
//! Magnus formula over water, WMO Guide to Instruments and Methods of Observation (WMO-No. 8), annex 4.B:
//! saturation vapour pressure 6.112 hPa × exp(17.62 t ÷ (243.12 + t)), for −45 to 60 °C, without the factor for the pressure
//! of the air, which is under half a per cent here.
#![allow(clippy::float_arithmetic, reason = "a curve is drawn")]

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive as _;

const AT_ZERO: f64 = 6.112;
const A: f64 = 17.62;
/// °C
const B: f64 = 243.12;

/// Saturation vapour pressure over water in hPa, at a temperature in °C.
pub fn saturation(celsius: f64) -> f64 {
    AT_ZERO * (A * celsius / (B + celsius)).exp()
}

/// The dew point in °C, of air at a temperature in °C and a relative humidity in %RH; none outside −45 to 60 °C, and none in
/// air without any water.
pub fn dew_point(celsius: f64, humidity: f64) -> Option<f64> {
    if !(-45.0..=60.0).contains(&celsius) || humidity <= 0.0 || humidity > 100.0 {
        return None;
    }
    let gamma = (humidity / 100.0).ln() + A * celsius / (B + celsius);
    Some(B * gamma / (A - gamma))
}

/// The same of recorded values, to the tenth of a degree.
pub fn of_air(celsius: Decimal, humidity: Decimal) -> Option<Decimal> {
    let dew = dew_point(celsius.to_f64()?, humidity.to_f64()?)?;
    Decimal::from_f64_retain(dew).map(|dew| dew.round_dp(1))
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    #[test]
    fn saturated_air_is_at_its_dew_point() {
        for celsius in [dec!(-10), dec!(0), dec!(12.5), dec!(24)] {
            assert_eq!(of_air(celsius, dec!(100)), Some(celsius));
        }
    }

    #[test]
    fn a_chamber_at_twelve_degrees_and_seventy_five_per_cent() {
        assert_eq!(of_air(dec!(12), dec!(75)), Some(dec!(7.7)));
    }

    #[test]
    fn dry_air_and_an_oven_have_none_here() {
        assert_eq!(of_air(dec!(12), dec!(0)), None);
        assert_eq!(of_air(dec!(61), dec!(50)), None);
    }

    #[test]
    fn the_pressure_at_zero_is_that_of_the_formula() {
        assert!((saturation(0.0) - 6.112).abs() < 1e-12);
    }
}
