//! What the book says of fermenting: which rule set the shop goes by, and a run that was judged by it.

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use time::{Duration, OffsetDateTime};

use crate::book::{Effects, Entry, Line, Say, Seq};
use crate::deviations::Opened;
use crate::error::Refusal;
use crate::ids::{BatchId, Named, PlaceId};
use crate::measure::Ph;
use crate::standards::degree_hours::{Edge, Method, Rules};

/// Hours between readings by hand that still tell of the time between them, where the shop has not said. Common practice:
/// a cabinet is read morning, noon and evening.
pub const USUAL_GAP: u16 = 6;

/// The longest gap that a shop can adopt, in hours: two days say nothing of a fermentation.
pub const LONGEST_GAP: u16 = 48;

/// The rule set that a shop goes by, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Adopted {
    pub rules: Rules,
    pub method: Method,
    pub edge: Edge,
    /// Hours; readings further apart say nothing of the time between them.
    pub largest_gap: u16,
}

impl Adopted {
    /// A rule set as it is meant where the shop has adopted none: the formula, exactly at the limit met, the usual gap.
    pub fn as_published(rules: Rules) -> Self {
        Self { rules, method: Method::Formula, edge: Edge::AtMost, largest_gap: USUAL_GAP }
    }

    #[cfg(test)]
    pub fn canada() -> Self {
        Self::as_published(Rules::Canada)
    }

    pub fn gap(&self) -> Duration {
        Duration::hours(i64::from(self.largest_gap))
    }

    /// "Canada, degree-hours by the formula, at most the limit, gaps over 6 h at the higher reading"
    pub fn words(&self) -> String {
        format!(
            "{}, {}, {} the limit, gaps over {}\u{a0}h at the higher reading",
            self.rules.set().name,
            self.method.name(),
            self.edge.word(),
            self.largest_gap
        )
    }

    /// What its figures count: degree-hours, or hours of the printed table.
    pub fn unit(&self) -> &'static str {
        match self.method {
            Method::Formula => self.rules.set().scale.degree_hours(),
            Method::Printed => "h",
        }
    }
}

/// The shop goes by this rule set from here on. `fermentation_rule.adopted`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FermentationRuleAdopted {
    pub rules: Rules,
    pub method: Method,
    pub edge: Edge,
    /// Hours.
    pub largest_gap: u16,
    /// Who said so, or where it is written: the plan, the regulator, the process authority.
    #[serde(default)]
    pub source: String,
}

impl FermentationRuleAdopted {
    pub fn adopted(&self) -> Adopted {
        let Self { rules, method, edge, largest_gap, .. } = *self;
        Adopted { rules, method, edge, largest_gap }
    }
}

impl Entry for FermentationRuleAdopted {
    const KIND: &'static str = "fermentation_rule.adopted";

    fn line(&self, _say: &Say) -> Line {
        let source = if self.source.is_empty() { String::new() } else { format!(": {}", self.source) };
        Line::new("Rule set for degree-hours adopted").why(format!("{}{source}", self.adopted().words()))
    }
}

/// A method is one that the rule set has, and a gap is some hours.
pub fn adopt(adopted: FermentationRuleAdopted) -> Result<FermentationRuleAdopted, Refusal> {
    let set = adopted.rules.set();
    if !set.methods().contains(&adopted.method) {
        return Err(Refusal::at(
            "method",
            format!("There is no printed table for {} here. Choose the formula.", set.name),
        ));
    }
    if !(1..=LONGEST_GAP).contains(&adopted.largest_gap) {
        return Err(Refusal::at("largest_gap", format!("The largest gap is from 1 to {LONGEST_GAP} hours.")));
    }
    Ok(adopted)
}

/// How a run comes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "lowercase")]
#[sqlx(type_name = "text", rename_all = "lowercase")]
pub enum Outcome {
    /// pH 5.3 was reached within the limit.
    Met,
    /// The limit was passed before pH 5.3.
    Over,
    /// Within the limit so far; pH 5.3 is not there yet.
    Within,
    /// Too little was read to say.
    Unknown,
}

impl Outcome {
    pub fn word(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::Over => "over",
            Self::Within => "within",
            Self::Unknown => "unknown",
        }
    }

    /// As it stands in the book.
    pub fn words(self) -> &'static str {
        match self {
            Self::Met => "within the limit at pH 5.3",
            Self::Over => "over the limit before pH 5.3",
            Self::Within => "within the limit so far, pH 5.3 not recorded",
            Self::Unknown => "not to be judged on what is recorded",
        }
    }
}

/// What was read where, as far as it was used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadHere {
    pub place: Named<PlaceId>,
    #[serde(with = "time::serde::rfc3339")]
    pub from: OffsetDateTime,
    #[serde(with = "time::serde::rfc3339")]
    pub to: OffsetDateTime,
    /// The lines of readings by hand.
    pub readings: Vec<Seq>,
    /// How many samples of a logger.
    pub samples: usize,
}

/// The reading that ended the count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EndPh {
    pub value: Ph,
    pub seq: Seq,
}

/// A run held against its limit, with the figures it was judged by. `fermentation.judged`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FermentationJudged {
    pub batch: Named<BatchId>,
    pub rules: Rules,
    pub method: Method,
    pub edge: Edge,
    /// Hours.
    pub largest_gap: u16,
    /// When it was stuffed.
    #[serde(with = "time::serde::rfc3339")]
    pub from: OffsetDateTime,
    /// The end of the count, or when it was judged.
    #[serde(with = "time::serde::rfc3339")]
    pub until: OffsetDateTime,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ph: Option<EndPh>,
    /// Degree-hours in the rule set's scale.
    pub degree_hours: Decimal,
    /// Hours above the critical temperature.
    pub hours_above: Decimal,
    /// The highest temperature, in the rule set's scale.
    pub highest: Decimal,
    /// What was held against the limit: degree-hours, or hours of the printed table.
    pub figure: Decimal,
    pub limit: Decimal,
    pub band: String,
    pub temperatures: Vec<ReadHere>,
    /// Hours of it in gaps, counted at the higher reading beside them.
    pub hours_in_gaps: Decimal,
    pub outcome: Outcome,
    /// The deviation that it opens, where it is over.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deviation: Option<Opened>,
}

impl FermentationJudged {
    fn by(&self) -> Adopted {
        let Self { rules, method, edge, largest_gap, .. } = *self;
        Adopted { rules, method, edge, largest_gap }
    }
}

impl Entry for FermentationJudged {
    const KIND: &'static str = "fermentation.judged";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.batch.id);
        match &self.deviation {
            Some(opened) => opened.speak(effects),
            None => effects,
        }
    }

    fn line(&self, _say: &Say) -> Line {
        let ph = self.ph.as_ref().map_or_else(
            || "pH 5.3 not recorded".to_owned(),
            |ph| format!("{} on line {}", ph.value.text(), ph.seq),
        );
        let held = match &self.deviation {
            Some(opened) if opened.lots.len() == 1 => "; 1 lot on hold".into(),
            Some(opened) => format!("; {} lots on hold", opened.lots.len()),
            None => String::new(),
        };
        let line = Line::new(format!("Fermentation of {}: {}", self.batch.name, self.outcome.words()))
            .why(format!("{}, {}, {}; {ph}{held}", self.rules.set().name, self.band, self.method.name()))
            .figure(format!(
                "{} of {}\u{a0}{}",
                against(self.figure, self.limit),
                figure(self.limit),
                self.by().unit()
            ));
        if self.outcome == Outcome::Over { line.alarm("over the limit") } else { line }
    }
}

/// A figure as a page shows it: one decimal at most, thousands apart.
pub fn figure(value: Decimal) -> String {
    grouped(value.round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero))
}

/// A figure held against a limit: with more decimals where one would make it look like the limit that it is not at.
pub fn against(value: Decimal, limit: Decimal) -> String {
    let rounded = value.round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero);
    if rounded == limit && value != limit { grouped(value.round_dp(4)) } else { grouped(rounded) }
}

fn grouped(shown: Decimal) -> String {
    let shown = shown.normalize();
    let text = shown.abs().to_string();
    let (whole, part) = text.split_once('.').unwrap_or((text.as_str(), ""));
    let mut grouped = String::new();
    for (n, digit) in whole.chars().enumerate() {
        if n > 0 && (whole.len() - n) % 3 == 0 {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    let sign = if shown.is_sign_negative() && !shown.is_zero() { "\u{2212}" } else { "" };
    if part.is_empty() { format!("{sign}{grouped}") } else { format!("{sign}{grouped}.{part}") }
}

/// What the deviation of a run over its limit is called: also the reason of each hold.
pub fn over(batch: &str, by: &Adopted, degree_hours: Decimal, limit: Decimal, band: &str) -> String {
    format!(
        "{batch} fermented {} {} before pH 5.3, limit {} ({}, {band})",
        against(degree_hours, limit),
        by.unit(),
        figure(limit),
        by.rules.set().name
    )
}

/// What the guidelines say may be done, marked as that.
pub const GUIDANCE: &str = "Guidance, not a decision: keep every lot of the batch on hold; tell the regulator where the \
                            rules ask for it (Canada: each case); the finished product may be tested, staphylococcal \
                            enterotoxin among the tests, as the regulator or a process authority says (the panel is from \
                            memory, to be confirmed); then the product is cooked, destroyed or let go as they decide. \
                            United States: a deviation from a critical limit, 9 CFR 417.3.";

#[cfg(test)]
mod tests;
