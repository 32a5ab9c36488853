//! The pages of fermenting: a file a page.

pub mod batch;
mod charts;
pub mod index;
pub mod panel;
pub mod plan;
pub mod rule;
mod sums;
pub mod take;

use rust_decimal::Decimal;

use super::entry::{Outcome, figure};
use crate::measure::UnitSystem;
use crate::standards::degree_hours::Scale;
use crate::web::Me;
use crate::web::parts::State;

/// What stands on every page with a limit in it.
const DECIDES: &str = "The figures say what was recorded and how it compares with a published limit; they do not say that a \
                       food is safe. Your regulator's rules, the shop's plan and a process authority decide.";

/// How it stands, as a mark and words.
fn state(outcome: Outcome) -> State {
    match outcome {
        Outcome::Met => State::new("met", "within the limit at pH 5.3"),
        Outcome::Over => State::new("out", "over the limit before pH 5.3"),
        Outcome::Within => State::new("wait", "within the limit so far"),
        Outcome::Unknown => State::new("late", "too little is read to say"),
    }
}

/// A temperature of one scale in the shop's own.
fn in_shop(me: &Me, scale: Scale, degrees: Decimal) -> Decimal {
    match (scale, me.shop.system) {
        (Scale::Celsius, UnitSystem::Us) => degrees * Decimal::new(18, 1) + Decimal::from(32),
        (Scale::Fahrenheit, UnitSystem::Metric) => (degrees - Decimal::from(32)) / Decimal::new(18, 1),
        _ => degrees,
    }
}

/// "25.6 °C", as the shop reads.
fn temperature(me: &Me, scale: Scale, degrees: Decimal) -> String {
    format!("{}\u{a0}{}", figure(in_shop(me, scale, degrees)), me.shop.temperature_unit().symbol())
}
