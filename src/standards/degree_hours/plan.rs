//! Degree-hours of a schedule that is known beforehand, and how long it may take.

use rust_decimal::Decimal;

use super::chamber::Warmth;
use super::rules::{Method, RuleSet};
use crate::standards::figure::{self, BadFigure};

/// Some hours at one chamber temperature, in the rule set's scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    pub degrees: Decimal,
    pub hours: Decimal,
}

/// Degree-hours of one constant temperature: (degrees − base) × hours, nothing at or below the base. Error: hours below
/// zero. Source: the rule set's.
pub fn constant(rules: &RuleSet, degrees: Decimal, hours: Decimal) -> Result<Decimal, BadFigure> {
    Ok((degrees - rules.base).max(Decimal::ZERO) * figure::not_negative(hours, "time in hours")?)
}

/// Degree-hours of steps of temperature and hours; the highest temperature decides the limit. No step of no hours counts
/// for the highest. Error: hours below zero, or no step at all. Source: the rule set's.
pub fn schedule(rules: &RuleSet, steps: &[Step]) -> Result<Warmth, BadFigure> {
    let mut all = Warmth { degree_hours: Decimal::ZERO, hours_above: Decimal::ZERO, highest: Decimal::ZERO };
    let mut highest: Option<Decimal> = None;
    for step in steps.iter().filter(|step| !step.hours.is_zero()) {
        all.degree_hours += constant(rules, step.degrees, step.hours)?;
        if step.degrees > rules.base {
            all.hours_above += step.hours;
        }
        highest = highest.max(Some(step.degrees));
    }
    all.highest = highest.ok_or(BadFigure::NoBase { what: "time of the schedule" })?;
    Ok(all)
}

/// How many hours a constant temperature may last by the formula: limit ÷ (degrees − base). `None` at or below the base:
/// such hours are not counted.
pub fn may_take(rules: &RuleSet, degrees: Decimal) -> Option<Decimal> {
    let above = degrees - rules.base;
    (above > Decimal::ZERO).then(|| rules.band(degrees).limit / above)
}

/// Hours until the limit if the chamber stays at `degrees`; the limit is that of the higher of this and the highest so
/// far. Nothing left is zero. `None` at or below the base, and where the printed table lists no such temperature.
pub fn hours_left(rules: &RuleSet, method: Method, warmth: &Warmth, degrees: Decimal) -> Option<Decimal> {
    let above = degrees - rules.base;
    if above <= Decimal::ZERO {
        return None;
    }
    let highest = warmth.highest.max(degrees);
    let left = match method {
        Method::Formula => (rules.band(highest).limit - warmth.degree_hours) / above,
        Method::Printed => rules.listed(highest)?.1 - warmth.hours_above,
    };
    Some(left.max(Decimal::ZERO))
}
