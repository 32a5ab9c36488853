//! Weighing an ingredient against its target. A cure is inside its tolerance or it does not go in; anything else may be
//! outside with a reason, and then the line says so.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::formulation::{self, Limited};
use super::standing::{LineStanding, Standing};
use crate::book::{Account, Effects, Entry, Line, Lot, Say};
use crate::deviations::entry::Opened;
use crate::error::Refusal;
use crate::ids::{BatchId, DeviationId, ItemId, LotId, Named};
use crate::measure::{ExactGrams, Grams, Percent};
use crate::recipes::{Role, words};
use crate::standards::ingoing::Brings;
use crate::standards::limits::Alkali;

words! {
    /// How a weight stands to its target.
    Verdict {
        Within => "within",
        Outside => "outside",
    }
}

/// An ingredient weighed into the mix. `ingredient.weighed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct IngredientWeighed {
    pub batch: BatchId,
    pub mix: LotId,
    /// The line of the recipe, from 1.
    pub line: u16,
    pub role: Role,
    pub item: Named<ItemId>,
    /// None for water from the main.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<Named<LotId>>,
    pub weight: Grams,
    /// As it was typed, where the ledger's 0.01 g do not say it all. Limits are held against this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exact: Option<ExactGrams>,
    /// What was still to be weighed for this line.
    pub target: Grams,
    pub tolerance: Percent,
    /// Whether more of it follows from another lot.
    #[serde(default)]
    pub more_follows: bool,
    pub verdict: Verdict,
    #[serde(default)]
    pub reason: String,
    /// Strength that the lot's pack states, per cent as NaNO2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nitrite: Option<Percent>,
    /// Strength that the lot's pack states, per cent as NaNO3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nitrate: Option<Percent>,
    /// The salt that the pack states its nitrite in; sodium where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nitrite_salt: Option<Alkali>,
    /// The salt that the pack states its nitrate in; sodium where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nitrate_salt: Option<Alkali>,
    /// The deviation that a salt outside its tolerance opens on its batch. It holds no lot: the batch goes on, and what was
    /// found is answered among the deviations.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deviation: Option<Opened>,
}

impl IngredientWeighed {
    /// What was typed.
    pub fn typed(&self) -> ExactGrams {
        self.exact.unwrap_or_else(|| self.weight.into())
    }

    /// What the lot's pack states; none where it states nothing.
    pub fn brings(&self) -> Option<Brings> {
        stated((self.nitrite, self.nitrite_salt), (self.nitrate, self.nitrate_salt))
    }
}

/// What a pack states of nitrite and of nitrate, each with its salt; none where it states neither.
pub fn stated(
    nitrite: (Option<Percent>, Option<Alkali>),
    nitrate: (Option<Percent>, Option<Alkali>),
) -> Option<Brings> {
    let said = nitrite.0.is_some() || nitrate.0.is_some();
    said.then(|| Brings {
        nitrite: nitrite.0.unwrap_or_default(),
        nitrite_salt: nitrite.1.unwrap_or(Alkali::Sodium),
        nitrate: nitrate.0.unwrap_or_default(),
        nitrate_salt: nitrate.1.unwrap_or(Alkali::Sodium),
        accelerator: None,
    })
}

impl Entry for IngredientWeighed {
    const KIND: &'static str = "ingredient.weighed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = match &self.lot {
            Some(lot) => Effects::none().take(lot.id, self.weight),
            None => Effects::none().account(Account::Water, None, -self.weight),
        };
        let effects = effects.give(self.mix, self.weight).about(self.batch);
        match &self.deviation {
            Some(opened) => opened.speak(effects),
            None => effects,
        }
    }

    fn line(&self, say: &Say) -> Line {
        let from =
            self.lot.as_ref().map_or_else(|| "from the main".into(), |lot| format!("from {}", lot.name));
        let reason = if self.reason.is_empty() { String::new() } else { format!(": {}", self.reason) };
        let line = Line::new(self.item.name.clone())
            .why(format!("{from}, target {}{reason}", say.weight(self.target)))
            .figure(say.weight(self.weight));
        if self.verdict == Verdict::Outside { line.alarm("outside tolerance") } else { line }
    }
}

/// How far a weight may be from `target`: the line's tolerance, but no less than half a division of the scale, which can
/// read no closer.
fn room(target: Grams, tolerance: Percent, division: Grams) -> Grams {
    tolerance.of_weight(target).max(division.times(Decimal::new(5, 1)))
}

/// Whether so much of a line is inside its tolerance.
pub fn judge(weighed: Grams, target: Grams, tolerance: Percent, division: Grams) -> Verdict {
    if (weighed - target).abs() <= room(target, tolerance, division) {
        Verdict::Within
    } else {
        Verdict::Outside
    }
}

/// An ingredient goes in from a lot that holds it and is what the recipe asks for. `division` is that of the small scale.
///
/// Fills in the verdict, and the deviation that a salt outside its tolerance opens. `entry` is the id of the entry that it
/// will be.
pub fn weigh(
    mut weighed: IngredientWeighed,
    batch: &Standing,
    lot: Option<&Lot>,
    division: Grams,
    entry: Uuid,
    say: &Say,
) -> Result<IngredientWeighed, Refusal> {
    batch.takes_more()?;
    let line = batch
        .ingredients()
        .find(|line| line.n == weighed.line)
        .ok_or_else(|| Refusal::at("line", "The recipe has no such ingredient."))?;
    comes_from(line, lot, weighed.weight, *say)?;
    of_known_strength(line, &weighed)?;
    let total = line.weighed + weighed.weight;
    let most = line.target + room(line.target, line.line.tolerance, division);
    weighed.target = line.target - line.weighed;
    weighed.verdict = if weighed.more_follows && total <= most {
        Verdict::Within
    } else {
        judge(total, line.target, line.line.tolerance, division)
    };
    if weighed.verdict == Verdict::Outside {
        outside(&weighed, line, total, *say)?;
    }
    if weighed.verdict == Verdict::Outside && line.line.role == Role::Salt {
        weighed.deviation = Some(Opened {
            deviation: DeviationId::made_by(entry),
            what: format!(
                "Batch {}: {} of {} weighed, {} asked",
                batch.code,
                say.weight(total),
                line.line.item.name,
                say.weight(line.target)
            ),
            lots: Vec::new(),
        });
    }
    let answers = formulation::weigh(&weighed, line, batch, division, *say)?;
    if weighed.verdict == Verdict::Within && answers == Limited::Within {
        return Ok(IngredientWeighed { reason: String::new(), ..weighed });
    }
    Ok(weighed)
}

/// What is said of a cure that was refused at the scale by its weight, outside its tolerance or over a limit. `None` where it was
/// refused for anything else.
pub fn refused_cure(
    tried: &IngredientWeighed,
    batch: &Standing,
    lot: Option<&Lot>,
    refusal: &Refusal,
    say: &Say,
) -> Option<String> {
    let line = batch.ingredients().find(|line| line.n == tried.line)?;
    let by_weight = line.line.role == Role::Cure
        && refusal.field == "weight"
        && comes_from(line, lot, tried.weight, *say).is_ok();
    by_weight.then(|| {
        format!(
            "Batch {}: {} of {} refused at the scale, {} asked",
            batch.code,
            say.weight(tried.weight),
            line.line.item.name,
            say.weight(line.target - line.weighed)
        )
    })
}

fn comes_from(line: &LineStanding, lot: Option<&Lot>, weight: Grams, say: Say) -> Result<(), Refusal> {
    let Some(lot) = lot else {
        return if line.line.role == Role::Water {
            Ok(())
        } else {
            Err(Refusal::at("lot", "Choose the lot that it comes from."))
        };
    };
    lot.usable("lot")?;
    if lot.item != line.line.item.id {
        let message =
            format!("{} is {}; the recipe asks for {}.", lot.code, lot.item_name, line.line.item.name);
        return Err(Refusal::at("lot", message));
    }
    lot.holds(weight, "weight", |grams| say.weight(grams))
}

/// A cure of which nobody knows how strong it is does not go in: how much of it is right, and whether it is within a limit,
/// follows from its strength.
fn of_known_strength(line: &LineStanding, weighed: &IngredientWeighed) -> Result<(), Refusal> {
    if line.line.role != Role::Cure || weighed.brings().is_some() {
        return Ok(());
    }
    let code = weighed.lot.as_ref().map_or("The lot", |lot| lot.name.as_str());
    Err(Refusal::at(
        "lot",
        format!(
            "{code} has no strength recorded, and a cure of unknown strength is not weighed in. Strike the line that took it in, \
             and take it in again with the per cent of nitrite and nitrate that its pack states; or choose another lot."
        ),
    ))
}

fn outside(weighed: &IngredientWeighed, line: &LineStanding, total: Grams, say: Say) -> Result<(), Refusal> {
    let by = Percent::of((total - line.target).abs(), line.target).text();
    let way = if total > line.target { "over" } else { "under" };
    let tolerance = line.line.tolerance;
    let found = format!("{} is {by} {way} the target of {}", say.weight(total), say.weight(line.target));
    if line.line.role == Role::Cure {
        return Err(Refusal::at(
            "weight",
            format!("{found}. A cure must be within {tolerance} %: take out or add, and weigh it again."),
        ));
    }
    if weighed.reason.is_empty() {
        let message =
            format!("{found}, and {tolerance} % is allowed. Weigh it again, or say why it stays so.");
        return Err(Refusal::at("reason", message));
    }
    Ok(())
}

/// Every ingredient is in. A cure that is missing or outside its tolerance for the meat that was really taken stops the
/// batch; anything else may be so with a reason.
pub(super) fn all_weighed(batch: &Standing, division: Grams, reason: &str, say: Say) -> Result<(), Refusal> {
    for line in batch.ingredients() {
        if judge(line.weighed, line.target, line.line.tolerance, division) == Verdict::Within {
            continue;
        }
        let found = format!(
            "{}: {} weighed, {} belongs to {} of meat",
            line.line.item.name,
            say.weight(line.weighed),
            say.weight(line.target),
            say.weight(batch.meat_block())
        );
        if line.line.role == Role::Cure {
            return Err(Refusal::of(format!("{found}. The cure must be right before the batch goes on.")));
        }
        if !line.explained && reason.is_empty() {
            return Err(Refusal::at("reason", format!("{found}. Weigh it, or say why it stays so.")));
        }
    }
    formulation::goes_on(batch, batch.laid_on, reason, say)
}
