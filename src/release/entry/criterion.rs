//! What a family asks: a rule, and the source of its figure. A figure that was forecast or reckoned from others is never
//! held against a rule; only what was recorded is.

use serde::{Deserialize, Serialize};

use crate::measure::{Percent, Ph, Ratio, WaterActivity};

/// A rule with its figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "rule", rename_all = "kebab-case")]
pub enum Rule {
    /// What went in is within the limits of curing that were in force.
    CureWithinLimits,
    /// The recipe's hours of cure passed in the temperatures of the shop's limits.
    TimeAndColdOfCure,
    /// pH 5.3 was reached within the degree-hours of the adopted rule set.
    FermentedInTime,
    /// The product's control of parasites is shown by what is recorded.
    ParasitesControlled,
    /// The latest pH of the batch or of the piece.
    PhAtMost {
        most: Ph,
    },
    /// Of green weight, by the last weigh-in.
    LossAtLeast {
        least: Percent,
    },
    /// Measured. Without `pieces` on each piece; with it on so many of the batch, the wettest among them.
    WaterActivityAtMost {
        most: WaterActivity,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pieces: Option<u8>,
    },
    /// No product assessment needed by Table B of the Food Code, from measured water activity and pH.
    ShelfStable {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pieces: Option<u8>,
    },
    /// A naming check, and no evidence of safety.
    MoistureToProteinAtMost {
        most: Ratio,
    },
    NoOpenDeviation,
    NothingOnHold,
    /// Each limit for the batch's stages has its check.
    CcpsRecorded,
    RecordsReviewed,
}

/// Which rule, without its figures: what a family holds at most once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Asks {
    Cure,
    Cold,
    Fermentation,
    Parasites,
    Ph,
    Loss,
    WaterActivity,
    ShelfStable,
    MoistureToProtein,
    Deviations,
    Holds,
    Ccps,
    Review,
}

impl Asks {
    /// In the order in which a page shows them.
    pub const ALL: [Self; 13] = [
        Self::Cure,
        Self::Cold,
        Self::Fermentation,
        Self::Parasites,
        Self::Ph,
        Self::Loss,
        Self::WaterActivity,
        Self::ShelfStable,
        Self::MoistureToProtein,
        Self::Deviations,
        Self::Holds,
        Self::Ccps,
        Self::Review,
    ];

    /// The name of its field.
    pub fn field(self) -> &'static str {
        match self {
            Self::Cure => "cure",
            Self::Cold => "cold",
            Self::Fermentation => "fermentation",
            Self::Parasites => "parasites",
            Self::Ph => "ph",
            Self::Loss => "loss",
            Self::WaterActivity => "water_activity",
            Self::ShelfStable => "shelf_stable",
            Self::MoistureToProtein => "moisture_to_protein",
            Self::Deviations => "deviations",
            Self::Holds => "holds",
            Self::Ccps => "ccps",
            Self::Review => "review",
        }
    }

    /// As it stands in a list to choose from.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cure => "Cure applied within limits",
            Self::Cold => "Time and cold of cure",
            Self::Fermentation => "Fermentation within degree-hours",
            Self::Parasites => "Parasites controlled",
            Self::Ph => "pH at most",
            Self::Loss => "Loss of green weight at least",
            Self::WaterActivity => "Water activity, measured, at most",
            Self::ShelfStable => "Water activity and pH, measured, that need no product assessment",
            Self::MoistureToProtein => "Moisture to protein at most: a naming check, no evidence of safety",
            Self::Deviations => "No open deviation",
            Self::Holds => "Nothing on hold",
            Self::Ccps => "Every CCP of its stages recorded",
            Self::Review => "Records reviewed",
        }
    }

    /// How it is found, for whoever asks how.
    pub fn how(self) -> &'static str {
        match self {
            Self::Cure => {
                "Ingoing nitrite, nitrate and what else the limits in force name, from what was weighed and the strength of \
                 its lots, unrounded, on the base of each limit."
            }
            Self::Cold => {
                "Hours of the stage curing in which the readings of its place were within the shop's limits, against the \
                 recipe's. A gap in the readings does not count."
            }
            Self::Fermentation => {
                "Degree-hours of the chamber from stuffing to pH 5.3, against the limit of the adopted rule set."
            }
            Self::Parasites => {
                "What the product's control asks for, by the shop's own readings and papers. It speaks of Trichinella alone."
            }
            Self::Ph => "The latest pH that was recorded of the batch, or of the piece where that is later.",
            Self::Loss => {
                "(green weight \u{2212} weight at the last weigh-in) / green weight. A forecast does not count."
            }
            Self::WaterActivity => {
                "The latest reading of a meter on the piece. Where a sample counts for all: the highest of the pieces \
                 measured, the one with the least loss among them. An estimate does not count."
            }
            Self::ShelfStable => {
                "FDA Food Code 1-201.10, Table B, by the measured water activity and the latest pH; where no pH is \
                 recorded, the column above pH 5.0."
            }
            Self::MoistureToProtein => {
                "The latest ratio that a laboratory stated for the batch or the piece."
            }
            Self::Deviations => {
                "No deviation on the batch or on the piece whose corrective action is not decided."
            }
            Self::Holds => "Nothing holds the piece.",
            Self::Ccps => {
                "Each limit of the shop for a stage of the batch, or for its end, has a check recorded in that stage \
                 that met it, or whose deviation was closed."
            }
            Self::Review => {
                "Somebody who made none of the batch's records has looked them over, and nothing has changed since."
            }
        }
    }
}

impl std::str::FromStr for Asks {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|asks| asks.field() == text).ok_or(())
    }
}

impl Rule {
    pub fn asks(&self) -> Asks {
        match self {
            Self::CureWithinLimits => Asks::Cure,
            Self::TimeAndColdOfCure => Asks::Cold,
            Self::FermentedInTime => Asks::Fermentation,
            Self::ParasitesControlled => Asks::Parasites,
            Self::PhAtMost { .. } => Asks::Ph,
            Self::LossAtLeast { .. } => Asks::Loss,
            Self::WaterActivityAtMost { .. } => Asks::WaterActivity,
            Self::ShelfStable { .. } => Asks::ShelfStable,
            Self::MoistureToProteinAtMost { .. } => Asks::MoistureToProtein,
            Self::NoOpenDeviation => Asks::Deviations,
            Self::NothingOnHold => Asks::Holds,
            Self::CcpsRecorded => Asks::Ccps,
            Self::RecordsReviewed => Asks::Review,
        }
    }

    /// "Water activity, measured, at most aw 0.850, on 3 pieces of the batch".
    pub fn words(&self) -> String {
        let name = self.asks().name();
        match self {
            Self::PhAtMost { most } => format!("{name} {most}"),
            Self::LossAtLeast { least } => format!("{name} {least}\u{a0}%"),
            Self::WaterActivityAtMost { most, pieces } => format!("{name} {most}, {}", sample(*pieces)),
            Self::ShelfStable { pieces } => format!("{name}, {}", sample(*pieces)),
            Self::MoistureToProteinAtMost { most } => {
                format!("Moisture to protein at most {most} to 1: a naming check, no evidence of safety")
            }
            _ => name.to_owned(),
        }
    }

    /// Whether it asks no less than `other`, which is the same rule with other figures.
    pub fn is_no_looser_than(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::PhAtMost { most }, Self::PhAtMost { most: than }) => most <= than,
            (Self::LossAtLeast { least }, Self::LossAtLeast { least: than }) => least >= than,
            (
                Self::WaterActivityAtMost { most, pieces },
                Self::WaterActivityAtMost { most: than, pieces: of },
            ) => most <= than && samples(*pieces, *of),
            (Self::ShelfStable { pieces }, Self::ShelfStable { pieces: of }) => samples(*pieces, *of),
            (Self::MoistureToProteinAtMost { most }, Self::MoistureToProteinAtMost { most: than }) => {
                most <= than
            }
            (one, other) => one == other,
        }
    }
}

/// Every piece is more than any sample.
fn samples(pieces: Option<u8>, than: Option<u8>) -> bool {
    pieces.is_none_or(|pieces| than.is_some_and(|than| pieces >= than))
}

fn sample(pieces: Option<u8>) -> String {
    match pieces {
        None => "on each piece".into(),
        Some(1) => "on the wettest piece of the batch".into(),
        Some(n) => format!("on {n} pieces of the batch, the wettest among them"),
    }
}

/// A rule and where it comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Criterion {
    #[serde(flatten)]
    pub rule: Rule,
    /// The law, the guideline, or the shop's own document.
    pub source: String,
}
