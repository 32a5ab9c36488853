//! Exact measures, and the reading and printing of them.
//!
//! Everything here is pure: no IO, no clock, no randomness, no float. A value that exists is a valid one: it is checked
//! once, when it is made, when an entry's body is read, and when the database answers.
//!
//! One rounding rule holds in every file: half goes away from zero, as a shop's till does it.

mod code;
mod currency;
mod dates;
mod day;
mod exact;
mod grams;
mod initials;
mod length;
mod money;
mod parse_weight;
mod percent;
mod ppm;
mod price;
mod print;
mod readings;
mod shares;
mod stored;
mod temperature;
mod text;
mod typed;
mod units;
mod zone;

pub use code::{CodeError, LotCode};
pub use currency::{Currency, CurrencyError};
pub use dates::maybe_date;
pub use day::{
    DayError, clock, day_long, day_text, day_year, input_day, input_moment, moment, parse_day, parse_moment,
};
pub use exact::ExactGrams;
pub use grams::Grams;
pub use initials::Initials;
pub use length::{Length, LengthUnit, parse_length};
pub use money::{Money, MoneyError, parse_money, parse_money_in};
pub use parse_weight::{WeightError, exact_weight, parse_weight, positive_weight};
pub use percent::{Percent, parse_percent};
pub use ppm::{Ppm, parse_ppm};
pub use price::{PricePerKg, parse_price, parse_price_in};
pub use readings::{
    Humidity, Ph, Ratio, ReadingError, WaterActivity, parse_humidity, parse_ph, parse_ratio,
    parse_water_activity,
};
pub use shares::joint_shares;
pub use stored::StoredError;
pub use temperature::{Celsius, parse_temperature};
pub use text::{ShortText, TextError, note, one_line};
pub use units::{TemperatureUnit, UnitError, UnitSystem, WeightUnit};
pub use zone::{ShopZone, zone_names};
