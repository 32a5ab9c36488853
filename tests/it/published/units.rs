//! NIST SP 811 (2008), appendix B.8 and B.9: what a typed weight, length or temperature comes to.

use flitchbook::measure::{
    LengthUnit, TemperatureUnit, WeightUnit, parse_length, parse_temperature, parse_weight,
};

use super::{Published, figure, printed};

const NIST: &str = "NIST SP 811 (2008), appendix B.8";
const FIXED: &str = "NIST SP 811 (2008), appendix B.9: t/°C = (t/°F − 32)/1.8";

fn grams(text: &str) -> String {
    parse_weight(text, WeightUnit::Gram).unwrap().to_string()
}

fn millimetres(text: &str) -> String {
    printed(parse_length(text, LengthUnit::Millimetre).unwrap().decimal(), 2)
}

fn celsius(text: &str) -> String {
    printed(parse_temperature(text, TemperatureUnit::Celsius).unwrap().decimal(), 2)
}

pub fn figures() -> Vec<Published> {
    vec![
        figure(NIST, "grams in a pound, exact", "453.59237", WeightUnit::Pound.grams()),
        figure(NIST, "grams in an ounce, exact", "28.349523125", WeightUnit::Ounce.grams()),
        figure(NIST, "pound, 4.535 924 E-01 kg", "453.59", grams("1 lb")),
        figure(NIST, "100 pounds", "45359.24", grams("100 lb")),
        figure(NIST, "ounce, 2.834 952 E-02 kg", "28.35", grams("1 oz")),
        figure(NIST, "quarter of an ounce", "7.09", grams("1/4 oz")),
        figure(NIST, "2 lb 8 oz", "1133.98", grams("2 lb 8 oz")),
        figure(NIST, "inch, 2.54 E-02 m", "25.40", millimetres("1 in")),
        figure(NIST, "foot as 12 inches, 3.048 E-01 m", "304.80", millimetres("12 in")),
        figure(FIXED, "32 °F", "0.00", celsius("32 F")),
        figure(FIXED, "40 °F", "4.44", celsius("40 F")),
        figure(FIXED, "60 °F", "15.56", celsius("60 F")),
        figure(FIXED, "212 °F", "100.00", celsius("212 F")),
        figure(FIXED, "-40 °F", "-40.00", celsius("-40 F")),
    ]
}
