//! The pages of reckoning: a file a page. Each is a form that is asked by its address, with the answer beside it.

pub mod belly;
pub mod blend;
pub mod brine;
pub mod days;
mod held;
pub mod index;
pub mod links;
pub mod panel;
pub mod ppm;
pub mod sack;
pub mod water;

use axum::http::StatusCode;
use rust_decimal::Decimal;

use held::Beside;

use crate::error::{Errors, Refusal};
use crate::measure::{ExactGrams, Grams, Percent, Ppm};
use crate::standards::BadFigure;
use crate::standards::limits::Product;
use crate::standards::scaling::Division;
use crate::web::parts::{Choice, Fact, Figure, Notice};
use crate::web::{Reader, Shop};

/// What stands under every sum of nitrite. The program reckons; it does not permit.
pub const DECIDES: &str = "These are sums, not a permission: local codes, your regulator and a process authority decide what \
                           may go in. Weigh a cure by the strength on the pack in hand, never by spoon.";

/// What was reckoned, ready to print.
#[derive(Debug, Clone, Default)]
pub struct Answer {
    pub figures: Vec<Figure>,
    pub facts: Vec<Fact>,
    /// Base, formula and source, one click away.
    pub how: Vec<Fact>,
    pub notices: Vec<Notice>,
    /// How it stands to the limits in force, where it is a sum of nitrite.
    pub held: Option<Beside>,
    /// What stands beneath; may be empty.
    pub says: &'static str,
}

impl Answer {
    pub fn figure(&mut self, figure: Figure) {
        self.figures.push(figure);
    }

    pub fn fact(&mut self, name: impl Into<String>, value: impl Into<String>) {
        self.facts.push(Fact::new(name, value));
    }

    pub fn how(&mut self, name: &str, value: impl Into<String>) {
        self.how.push(Fact::new(name, value));
    }
}

/// An answer, nothing yet, or what is wrong.
pub type Reckoned = Result<Option<Answer>, Errors>;

/// The status of a page, its answer and its errors.
pub fn settled(reckoned: Reckoned) -> (StatusCode, Option<Answer>, Errors) {
    match reckoned {
        Ok(answer) => (StatusCode::OK, answer, Errors::default()),
        Err(errors) => (StatusCode::UNPROCESSABLE_ENTITY, None, errors),
    }
}

/// A figure that cannot be worked with, at the field that it came from: `fields` pairs what the formula calls it with the field's
/// name.
pub fn at(why: &BadFigure, fields: &[(&str, &'static str)]) -> Errors {
    let named = match why {
        BadFigure::NoBase { what } | BadFigure::Negative { what } | BadFigure::OverHundred { what } => what,
        BadFigure::PartOverWhole { part, .. } => part,
    };
    let field = fields.iter().find(|(what, _)| what == named).map_or("", |(_, field)| field);
    Refusal::at(field, why.to_string()).into()
}

/// A weight on the small scale that may be left open.
pub fn maybe_small(
    read: &mut Reader<'_>,
    field: &'static str,
    text: &str,
    unit: &str,
) -> Option<Option<Grams>> {
    if text.trim().is_empty() { Some(None) } else { read.small_weight(field, text, unit).map(Some) }
}

/// A weight on the small scale with all that was typed, that may be left open.
pub fn maybe_exact(
    read: &mut Reader<'_>,
    field: &'static str,
    text: &str,
    unit: &str,
) -> Option<Option<ExactGrams>> {
    if text.trim().is_empty() { Some(None) } else { read.exact_small_weight(field, text, unit).map(Some) }
}

/// What the cured meat falls under, as far as limits tell; `usual` where none is chosen.
pub fn product(read: &mut Reader<'_>, text: &str, usual: Product) -> Option<Product> {
    if text.is_empty() {
        return Some(usual);
    }
    chosen(read, "product", text, Product::ALL, Product::word)
}

/// A wanted ppm.
pub fn ppm(read: &mut Reader<'_>, field: &'static str, text: &str) -> Option<Ppm> {
    read.take(field, crate::measure::parse_ppm(text))
}

/// A wanted ppm that may be left open.
pub fn maybe_ppm(read: &mut Reader<'_>, field: &'static str, text: &str) -> Option<Option<Ppm>> {
    if text.trim().is_empty() { Some(None) } else { ppm(read, field, text).map(Some) }
}

/// The unit beside a field: what was chosen, or else `usual`.
pub fn unit(chosen: &mut String, usual: &str) {
    if chosen.is_empty() {
        usual.clone_into(chosen);
    }
}

/// A weight of a big figure, the other system beneath it.
pub fn big(shop: &Shop, name: &str, weight: Grams) -> Figure {
    let (value, unit) = weight.figure(shop.system);
    Figure::new(name, value, unit).beneath(weight.in_system(shop.system.other()))
}

/// A small weight as a big figure: grams first, whatever the shop weighs its meat in.
pub fn small(name: &str, weight: Grams) -> Figure {
    let (value, unit) = weight.figure(crate::measure::UnitSystem::Metric);
    Figure::new(name, value, unit).beneath(weight.imperial())
}

/// Ingoing ppm as a big figure: whole, with its base beneath.
pub fn whole_ppm(name: &str, exact: Decimal, base: &str) -> Figure {
    let text = Ppm::new(exact).text();
    Figure::new(name, text.trim_end_matches("ppm").trim_end(), "ppm").beneath(base)
}

/// `156.25 ppm`: to the hundredth, for what stands beside the whole figure.
pub fn close(exact: Decimal) -> String {
    format!("{}\u{a0}ppm", exact.round_dp(2).normalize())
}

/// Per cent as a big figure with so many places.
pub fn big_percent(name: &str, percent: Percent, places: u32) -> Figure {
    Figure::new(name, percent.text_places(places).trim_end_matches('%').trim_end(), "%")
}

/// `nitrite 6.25 % as sodium nitrite`.
pub fn strength(percent: Percent, words: &str) -> String {
    format!("{percent}\u{a0}% {words}")
}

/// What the small scale can weigh without going above a dose.
pub fn weighable(shop: &Shop, dose: Decimal) -> Result<Grams, BadFigure> {
    Ok(Division::new(shop.small_division)?.below(Grams::new(dose)))
}

/// Words of a list as the answers of a field.
pub fn choices<T: Copy>(all: &[T], words: impl Fn(T) -> &'static str) -> Vec<Choice> {
    all.iter().map(|one| Choice::new(words(*one), words(*one))).collect()
}

/// The one of a list that a word names; the first where none is chosen.
pub fn chosen<T: Copy>(
    read: &mut Reader<'_>,
    field: &'static str,
    text: &str,
    all: &[T],
    words: impl Fn(T) -> &'static str,
) -> Option<T> {
    if text.is_empty() {
        return all.first().copied();
    }
    let found = all.iter().copied().find(|one| words(*one) == text);
    if found.is_none() {
        read.refuse(field, "Choose one of these.");
    }
    found
}
