//! How an entry reads as a line: what, why, figure. Time, initials and a strike are added by who shows it.

use crate::measure::{Celsius, Grams, UnitSystem};

/// What a line needs to know of the shop to say a figure.
#[derive(Debug, Clone, Copy)]
pub struct Say {
    pub system: UnitSystem,
}

impl Say {
    pub fn weight(&self, grams: Grams) -> String {
        grams.in_system(self.system)
    }

    pub fn temperature(&self, celsius: Celsius) -> String {
        celsius.text(self.system)
    }
}

/// One line, without its time and its initials.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Line {
    /// What happened, in a few words.
    pub what: String,
    /// The rest: where it goes, the reason, the recipe.
    pub why: String,
    /// The figure that was signed, with its unit.
    pub figure: String,
    /// A mark and a word when the line says that something is not as it should be.
    pub alarm: Option<&'static str>,
}

impl Line {
    pub fn new(what: impl Into<String>) -> Self {
        Self { what: what.into(), ..Self::default() }
    }

    #[must_use]
    pub fn why(mut self, why: impl Into<String>) -> Self {
        self.why = why.into();
        self
    }

    #[must_use]
    pub fn figure(mut self, figure: impl Into<String>) -> Self {
        self.figure = figure.into();
        self
    }

    #[must_use]
    pub fn alarm(mut self, word: &'static str) -> Self {
        self.alarm = Some(word);
        self
    }
}
