//! Reads a form's text into values that cannot be wrong, and collects every problem at once, each at its field.

use std::str::FromStr;

use rust_decimal::Decimal;
use time::{Date, OffsetDateTime};

use super::shop::Shop;
use crate::error::{Errors, Refusal};
use crate::measure::{
    self, Celsius, ExactGrams, Grams, Humidity, Money, Percent, Ph, PricePerKg, Ratio, WaterActivity,
};

/// The longest text of one line, in characters.
pub const LINE: usize = 120;
/// The longest note, in characters.
pub const NOTE: usize = 2000;

/// A form being read. What could not be read is `None` here and a sentence in the errors.
pub struct Reader<'a> {
    shop: &'a Shop,
    errors: Errors,
}

impl<'a> Reader<'a> {
    pub fn new(shop: &'a Shop) -> Self {
        Self { shop, errors: Errors::default() }
    }

    /// Says no at a field.
    pub fn refuse(&mut self, field: &'static str, message: impl Into<String>) {
        self.errors.push(Refusal::at(field, message));
    }

    /// Takes the value, or says its problem at the field.
    pub fn take<T, E: std::fmt::Display>(&mut self, field: &'static str, read: Result<T, E>) -> Option<T> {
        match read {
            Ok(value) => Some(value),
            Err(why) => {
                self.refuse(field, why.to_string());
                None
            }
        }
    }

    /// A value that was picked: an id, a word of a list.
    pub fn value<T: FromStr>(&mut self, field: &'static str, text: &str, missing: &str) -> Option<T> {
        if let Ok(value) = text.trim().parse() {
            return Some(value);
        }
        self.refuse(field, missing);
        None
    }

    /// A value that may be left open.
    pub fn maybe<T: FromStr>(&mut self, field: &'static str, text: &str, wrong: &str) -> Option<Option<T>> {
        if text.trim().is_empty() { Some(None) } else { self.value(field, text, wrong).map(Some) }
    }

    /// One line of text that must be there.
    pub fn line(&mut self, field: &'static str, text: &str, missing: &str) -> Option<String> {
        let line = self.line_or_empty(field, text)?;
        if line.is_empty() {
            self.refuse(field, missing);
            return None;
        }
        Some(line)
    }

    /// One line of text that may be empty.
    pub fn line_or_empty(&mut self, field: &'static str, text: &str) -> Option<String> {
        if text.trim().is_empty() {
            return Some(String::new());
        }
        let read = measure::one_line(text, LINE);
        self.take(field, read)
    }

    /// Several lines of text that must be there.
    pub fn note(&mut self, field: &'static str, text: &str, missing: &str) -> Option<String> {
        let note = self.note_or_empty(field, text)?;
        if note.is_empty() {
            self.refuse(field, missing);
            return None;
        }
        Some(note)
    }

    /// Several lines of text that may be empty.
    pub fn note_or_empty(&mut self, field: &'static str, text: &str) -> Option<String> {
        let read = measure::note(text, NOTE);
        self.take(field, read)
    }

    /// A weight of more than nothing. `unit` is what stands beside the field; empty means the shop's own.
    pub fn weight(&mut self, field: &'static str, text: &str, unit: &str) -> Option<Grams> {
        let unit = unit.parse().unwrap_or(self.shop.weight_unit());
        self.take(field, measure::positive_weight(text, unit))
    }

    /// A weight on the small scale: a bare number is grams unless the field says otherwise.
    pub fn small_weight(&mut self, field: &'static str, text: &str, unit: &str) -> Option<Grams> {
        let unit = unit.parse().unwrap_or(self.shop.small_unit());
        self.take(field, measure::positive_weight(text, unit))
    }

    /// A weight with all that was typed, for what a limit is held against.
    pub fn exact_weight(&mut self, field: &'static str, text: &str, unit: &str) -> Option<ExactGrams> {
        let unit = unit.parse().unwrap_or(self.shop.weight_unit());
        self.take(field, measure::exact_weight(text, unit))
    }

    /// The same on the small scale.
    pub fn exact_small_weight(&mut self, field: &'static str, text: &str, unit: &str) -> Option<ExactGrams> {
        let unit = unit.parse().unwrap_or(self.shop.small_unit());
        self.take(field, measure::exact_weight(text, unit))
    }

    /// A weight that may be left open.
    pub fn maybe_weight(&mut self, field: &'static str, text: &str, unit: &str) -> Option<Option<Grams>> {
        if text.trim().is_empty() { Some(None) } else { self.weight(field, text, unit).map(Some) }
    }

    pub fn temperature(&mut self, field: &'static str, text: &str) -> Option<Celsius> {
        let read = measure::parse_temperature(text, self.shop.temperature_unit());
        self.take(field, read)
    }

    pub fn maybe_temperature(&mut self, field: &'static str, text: &str) -> Option<Option<Celsius>> {
        if text.trim().is_empty() { Some(None) } else { self.temperature(field, text).map(Some) }
    }

    pub fn humidity(&mut self, field: &'static str, text: &str) -> Option<Humidity> {
        self.take(field, measure::parse_humidity(text))
    }

    pub fn ph(&mut self, field: &'static str, text: &str) -> Option<Ph> {
        self.take(field, measure::parse_ph(text))
    }

    pub fn ratio(&mut self, field: &'static str, text: &str) -> Option<Ratio> {
        self.take(field, measure::parse_ratio(text))
    }

    pub fn water_activity(&mut self, field: &'static str, text: &str) -> Option<WaterActivity> {
        self.take(field, measure::parse_water_activity(text))
    }

    pub fn percent(&mut self, field: &'static str, text: &str) -> Option<Percent> {
        self.take(field, measure::parse_percent(text))
    }

    pub fn maybe_percent(&mut self, field: &'static str, text: &str) -> Option<Option<Percent>> {
        if text.trim().is_empty() { Some(None) } else { self.percent(field, text).map(Some) }
    }

    pub fn money(&mut self, field: &'static str, text: &str) -> Option<Money> {
        self.take(field, measure::parse_money(text))
    }

    /// A price; a bare number is per kilogram or per pound, as the shop weighs.
    pub fn price(&mut self, field: &'static str, text: &str) -> Option<PricePerKg> {
        let read = measure::parse_price(text, self.shop.weight_unit());
        self.take(field, read)
    }

    pub fn maybe_price(&mut self, field: &'static str, text: &str) -> Option<Option<PricePerKg>> {
        if text.trim().is_empty() { Some(None) } else { self.price(field, text).map(Some) }
    }

    /// A whole number from `least` to `most`.
    pub fn count(&mut self, field: &'static str, text: &str, least: u16, most: u16) -> Option<u16> {
        match text.trim().parse::<u16>() {
            Ok(count) if (least..=most).contains(&count) => Some(count),
            _ => {
                self.refuse(field, format!("Give a whole number from {least} to {most}."));
                None
            }
        }
    }

    /// A decimal number from `least` to `most`, with a point or a comma.
    pub fn decimal(
        &mut self,
        field: &'static str,
        text: &str,
        least: Decimal,
        most: Decimal,
    ) -> Option<Decimal> {
        match Decimal::from_str_exact(&text.trim().replace(',', ".")) {
            Ok(number) if (least..=most).contains(&number) => Some(number),
            _ => {
                self.refuse(field, format!("Give a number from {least} to {most}."));
                None
            }
        }
    }

    /// A day as a date field sends it.
    pub fn date(&mut self, field: &'static str, text: &str) -> Option<Date> {
        self.take(field, measure::parse_day(text))
    }

    pub fn maybe_date(&mut self, field: &'static str, text: &str) -> Option<Option<Date>> {
        if text.trim().is_empty() { Some(None) } else { self.date(field, text).map(Some) }
    }

    /// When it happened: the shop's own time, or now when left open.
    pub fn when(&mut self, text: &str) -> Option<Option<OffsetDateTime>> {
        if text.trim().is_empty() {
            return Some(None);
        }
        let read = measure::parse_moment(text).and_then(|local| self.shop.zone.instant(local));
        self.take("when", read).map(Some)
    }

    /// Hands out the whole only when every part could be read.
    ///
    /// # Errors
    /// Everything that was wrong.
    pub fn finish<T>(self, whole: impl FnOnce() -> Option<T>) -> Result<T, Errors> {
        match whole() {
            Some(value) if self.errors.is_empty() => Ok(value),
            _ if self.errors.is_empty() => {
                Err(Refusal::of("Something on this form could not be read.").into())
            }
            _ => Err(self.errors),
        }
    }
}
