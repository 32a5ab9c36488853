//! Limits on what goes into cured meat: pure types, the shipped lists, which of them hold on a day for a product and a
//! method, and how a figure stands to one. Compared unrounded; exactly at the limit is met.

mod shipped;
mod words;

use serde::{Deserialize, Serialize};
use time::Date;

pub use shipped::{Set, shipped};
pub use words::{Accelerator, Alkali, Base, Jurisdiction, Mark, Measured, Product, StatedAs, Substance, Way};

use super::ingoing::{Fraction, GoesIn};
use crate::measure::{Ppm, maybe_date};

/// A limit, from a shipped list or of the shop's own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// What it is called in the lists, never changed: `us-comminuted-nitrite`.
    pub key: String,
    pub name: String,
    pub substance: Substance,
    #[serde(default = "ingoing")]
    pub measured: Measured,
    /// The methods that it holds for; all where there are none.
    #[serde(default)]
    pub ways: Vec<Way>,
    /// The products that it holds for; all where there are none.
    #[serde(default)]
    pub products: Vec<Product>,
    /// Products that it does not hold for.
    #[serde(default)]
    pub not_for: Vec<Product>,
    /// Methods in which those products are left out; all where there are none.
    #[serde(default)]
    pub not_for_in: Vec<Way>,
    #[serde(default)]
    pub least: Option<Ppm>,
    #[serde(default)]
    pub most: Option<Ppm>,
    /// What is required, where the two ends are what a weighing may be off it.
    #[serde(default)]
    pub required: Option<Ppm>,
    pub base: Base,
    pub stated: StatedAs,
    /// The source's own words: "1/4 oz to 100 lb".
    #[serde(default)]
    pub said: String,
    pub citation: String,
    pub mark: Mark,
    /// A minimum that a shop may take up; not in force until it does.
    #[serde(default)]
    pub may_adopt: bool,
    #[serde(default, with = "maybe_date")]
    pub from: Option<Date>,
    /// The last day.
    #[serde(default, with = "maybe_date")]
    pub until: Option<Date>,
    #[serde(default)]
    pub note: String,
}

const fn ingoing() -> Measured {
    Measured::Ingoing
}

/// How a figure stands to a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    Within,
    /// Less than the least.
    Below,
    /// More than the most.
    Over,
}

impl Limit {
    /// Whether it has begun and not ended on this day.
    pub fn holds_on(&self, day: Date) -> bool {
        self.from.is_none_or(|from| from <= day) && self.until.is_none_or(|until| day <= until)
    }

    /// Whether it speaks of this product, made this way.
    pub fn holds_for(&self, way: Way, product: Product) -> bool {
        let way = way.limited_as();
        let left_out =
            self.not_for.contains(&product) && (self.not_for_in.is_empty() || self.not_for_in.contains(&way));
        (self.ways.is_empty() || self.ways.contains(&way))
            && (self.products.is_empty() || self.products.contains(&product))
            && !left_out
    }

    /// Whether it is off until the shop switches it on.
    pub fn waits(&self) -> bool {
        self.may_adopt || self.mark == Mark::ToBeConfirmed
    }

    /// The same once the shop has read it in its text: the citation names the document, and no longer says that it waits.
    #[must_use]
    pub fn confirmed(mut self, document: &str) -> Self {
        if self.mark == Mark::ToBeConfirmed {
            let cited = self.citation.trim_end_matches("from memory, to be confirmed");
            let cited = cited.trim_end_matches([' ', ';', ',']);
            self.citation = format!("{cited}; confirmed by the shop: {document}");
        }
        self
    }

    /// The figure that it asks for.
    pub fn figure(&self, goes_in: &GoesIn) -> Fraction {
        goes_in.figure(self.substance, self.stated, self.base)
    }

    /// Exactly at an end is within.
    pub fn judge(&self, figure: Fraction) -> Stands {
        if self.most.is_some_and(|most| !figure.is_at_most(most)) {
            return Stands::Over;
        }
        if self.least.is_some_and(|least| !figure.is_at_least(least)) {
            return Stands::Below;
        }
        Stands::Within
    }
}

/// The limits of a list that are in force: those of the day, and of those that wait, the ones that `on` names.
pub fn in_force<'a>(
    limits: &'a [Limit],
    day: Date,
    on: impl Fn(&str) -> bool + 'a,
) -> impl Iterator<Item = &'a Limit> {
    limits.iter().filter(move |limit| limit.holds_on(day) && (!limit.waits() || on(&limit.key)))
}

#[cfg(test)]
mod tests;
