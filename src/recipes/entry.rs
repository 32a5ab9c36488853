//! What the book says of recipes. Each entry writes a new version; none is ever changed, so what a batch was made by
//! stays readable.

use serde::{Deserialize, Serialize};

use super::proportions::Proportions;
use super::words::{Per, RecipeKind, Role, Stage};
use crate::book::{Effects, Entry, Line, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{ItemId, Named, RecipeId};
use crate::measure::Percent;
use crate::standards::limits::{Accelerator, Product, Way};

/// The most lines that a recipe has.
pub const MOST_LINES: usize = 100;

/// A recipe in its next version. `recipe.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecipeWritten {
    pub recipe: RecipeId,
    pub name: String,
    /// From 1, without gaps.
    pub version: u16,
    pub kind: RecipeKind,
    /// What it makes.
    pub product: Named<ItemId>,
    /// Weight of the brine, per cent of the meat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brine: Option<Percent>,
    /// What the drying aims at, per cent of green weight. A guide, not proof of safety.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_loss: Option<Percent>,
    /// Days between weigh-ins while it hangs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weigh_every: Option<u16>,
    #[serde(default)]
    pub note: String,
    /// How the cure meets the meat, where the kind alone does not say it: the ways of a brine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub way: Option<Way>,
    /// Per cent of the green weight, where it is pumped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pump: Option<Percent>,
    /// What the meat takes up of the pickle that it lies in, per cent of the green weight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pick_up: Option<Percent>,
    /// What the product falls under, as limits tell products apart; other cured meat where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub falls_under: Option<Product>,
    /// Water in the meat, per cent, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moisture: Option<Percent>,
    pub lines: Vec<RecipeLine>,
    #[serde(default)]
    pub steps: Vec<RecipeStep>,
}

/// One line: so much of something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecipeLine {
    pub role: Role,
    pub item: Named<ItemId>,
    /// Nothing for a casing, which is counted.
    pub percent: Percent,
    pub per: Per,
    /// How far the weight may be from its target, per cent of the target.
    pub tolerance: Percent,
    /// Salt in a cure or a mix, per cent of its own weight, where the pack says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub salt: Option<Percent>,
    /// Sugar in a cure or a mix, per cent of its own weight, where the pack says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sugar: Option<Percent>,
    /// Ascorbate, erythorbate or an acid of theirs in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accelerator: Option<Quickens>,
}

/// What quickens the cure, and how much of the line's own weight it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Quickens {
    pub what: Accelerator,
    pub share: Percent,
}

/// What follows after the making: so long in a stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecipeStep {
    pub stage: Stage,
    pub hours: u32,
    #[serde(default)]
    pub note: String,
}

impl Entry for RecipeWritten {
    const KIND: &'static str = "recipe.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.recipe)
    }

    fn line(&self, _say: &Say) -> Line {
        let lines =
            if self.lines.len() == 1 { "1 line".into() } else { format!("{} lines", self.lines.len()) };
        Line::new(format!("Recipe {}, version {}", self.name, self.version))
            .why(format!("{}, {lines}", self.kind.word()))
    }
}

/// A recipe is laid aside, or taken up again. `recipe.retired`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecipeRetired {
    pub recipe: Named<RecipeId>,
    pub retired: bool,
}

impl Entry for RecipeRetired {
    const KIND: &'static str = "recipe.retired";

    fn effects(&self) -> Effects {
        Effects::none().about(self.recipe.id)
    }

    fn line(&self, _say: &Say) -> Line {
        let what = if self.retired { "laid aside" } else { "taken up again" };
        Line::new(format!("Recipe {} {what}", self.recipe.name))
    }
}

impl RecipeWritten {
    /// How the cure meets the meat.
    pub fn way(&self) -> Way {
        self.way.unwrap_or_else(|| self.kind.way())
    }
}

/// A version follows the last one, and its lines make a formula that its kind can be made by.
pub fn write(recipe: RecipeWritten, last: Option<u16>) -> Result<RecipeWritten, Errors> {
    let mut errors = Errors::default();
    if recipe.version != last.unwrap_or(0) + 1 {
        errors.push(Refusal::of(format!(
            "Version {} was written in the meantime. Look at it, then write yours.",
            last.unwrap_or(0)
        )));
    }
    if recipe.lines.len() > MOST_LINES {
        errors.push(Refusal::at("lines", format!("A recipe has at most {MOST_LINES} lines.")));
    }
    for (n, line) in (1..).zip(&recipe.lines) {
        if let Some(message) = line_does_not_fit(&recipe, line) {
            errors.push(Refusal::at("lines", format!("Line {n}, {}: {message}", line.item.name)));
        }
    }
    if let Err(why) = Proportions::new(recipe.kind, &recipe.lines, recipe.brine) {
        errors.push(Refusal::at("lines", said(&why.to_string(), line_of(&why))));
    }
    for step in &recipe.steps {
        if !Stage::PLANNED.contains(&step.stage) || step.hours == 0 {
            errors.push(Refusal::at("steps", "Each step needs a stage and more than no hours."));
        }
    }
    errors_of_way(&recipe, &mut errors);
    let losses = Percent::ZERO..Percent::HUNDRED;
    if recipe.target_loss.is_some_and(|loss| !losses.contains(&loss)) {
        errors.push(Refusal::at("target_loss", "Give a loss below 100 %."));
    }
    if errors.is_empty() { Ok(recipe) } else { Err(errors) }
}

/// A brine may be pumped, laid on or both, and each says how much; nothing else has a pickle.
fn errors_of_way(recipe: &RecipeWritten, errors: &mut Errors) {
    let way = recipe.way();
    if way.has_pickle() != (recipe.kind == RecipeKind::Brine) {
        let message = format!("A recipe of the kind {} is not {}.", recipe.kind.word(), way.word());
        errors.push(Refusal::at("way", message));
        return;
    }
    let shares = Percent::ZERO..=Percent::HUNDRED;
    let some =
        |share: Option<Percent>| share.is_some_and(|share| share > Percent::ZERO && shares.contains(&share));
    let pumped = matches!(way, Way::Pumped | Way::PumpedAndCovered);
    if pumped && !some(recipe.pump) {
        errors.push(Refusal::at("pump", "Say how much is pumped in, per cent of the green weight."));
    }
    if matches!(way, Way::PickUp | Way::PumpedAndCovered) && !some(recipe.pick_up) {
        errors.push(Refusal::at("pick_up", "Say how much the meat picks up, per cent of the green weight."));
    }
    if recipe.moisture.is_some_and(|moisture| moisture > Percent::HUNDRED) {
        errors.push(Refusal::at("moisture", "Water in the meat is at most 100 %."));
    }
}

fn said(message: &str, line: Option<usize>) -> String {
    line.map_or_else(|| message.to_owned(), |line| format!("Line {}: {message}", line + 1))
}

fn line_of(why: &crate::standards::formula::BadFormula) -> Option<usize> {
    use crate::standards::formula::BadFormula as Bad;
    match why {
        Bad::Negative { line }
        | Bad::NotInBrine { line }
        | Bad::MeatOfWhole { line }
        | Bad::BrineTwoWays { line } => Some(*line),
        _ => None,
    }
}

fn line_does_not_fit(recipe: &RecipeWritten, line: &RecipeLine) -> Option<&'static str> {
    match (recipe.kind, line.role, line.per) {
        (kind, _, Per::Brine) if kind != RecipeKind::Brine => {
            Some("only a brine recipe has lines of the brine.")
        }
        (_, Role::Accelerator, _) if line.accelerator.is_none() => {
            Some("say which ascorbate or erythorbate it is.")
        }
        (kind, Role::Casing, _) if kind.is_whole_muscle() => Some("a whole muscle is not stuffed."),
        (_, role, _) if role != Role::Casing && line.percent <= Percent::ZERO => Some("give more than 0 %."),
        _ => None,
    }
}

/// What a cook who knows the trade would ask about. Warnings, never refusals.
pub fn cautions(recipe: &RecipeWritten) -> Vec<String> {
    let has = |role: Role| recipe.lines.iter().any(|line| line.role == role);
    let mut said = Vec::new();
    if !has(Role::Salt) && !has(Role::Cure) {
        said.push("No salt and no cure in it: nothing here keeps the meat but cold.".to_owned());
    }
    if recipe.kind == RecipeKind::GroundFermented && !has(Role::Cure) {
        said.push(
            "Ground, fermented and without a cure: nitrite is what usually stands against Clostridium botulinum there."
                .to_owned(),
        );
    }
    if recipe.kind == RecipeKind::GroundFermented && !has(Role::Culture) {
        said.push(
            "Fermented without a starter culture: how fast the pH falls is then left to chance.".to_owned(),
        );
    }
    if recipe.kind == RecipeKind::GroundFermented && !has(Role::Sugar) {
        said.push("No sugar for the culture: the pH may hardly fall.".to_owned());
    }
    if recipe.kind != RecipeKind::GroundFresh && recipe.steps.is_empty() {
        said.push("No steps after the making: nothing will be called due.".to_owned());
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    pub(crate) fn line(role: Role, name: &str, percent: &str, per: Per) -> RecipeLine {
        RecipeLine {
            role,
            item: Named::new(ItemId(Uuid::from_u128(7)), name),
            percent: Percent::new(percent.parse().expect("a decimal")),
            per,
            tolerance: Percent::new(rust_decimal::Decimal::new(role.usual_tolerance(), 2)),
            salt: None,
            sugar: None,
            accelerator: None,
        }
    }

    fn salami() -> RecipeWritten {
        RecipeWritten {
            recipe: RecipeId(Uuid::from_u128(1)),
            name: "Fennel salami".into(),
            version: 1,
            kind: RecipeKind::GroundFermented,
            product: Named::new(ItemId(Uuid::from_u128(2)), "fennel salami"),
            brine: None,
            target_loss: Some(Percent::new(rust_decimal::dec!(35))),
            weigh_every: Some(7),
            note: String::new(),
            way: None,
            pump: None,
            pick_up: None,
            falls_under: None,
            moisture: None,
            lines: vec![
                line(Role::Meat, "lean trim", "75", Per::Meat),
                line(Role::Fat, "back fat", "25", Per::Meat),
                line(Role::Salt, "sea salt", "2.5", Per::Meat),
                line(Role::Cure, "curing salt", "0.25", Per::Meat),
                line(Role::Sugar, "dextrose", "0.3", Per::Meat),
                line(Role::Culture, "starter", "0.025", Per::Meat),
                line(Role::Casing, "beef middles", "0", Per::Meat),
            ],
            steps: vec![RecipeStep { stage: Stage::Fermenting, hours: 48, note: String::new() }],
        }
    }

    fn refused(recipe: RecipeWritten, last: Option<u16>) -> Vec<(&'static str, String)> {
        let errors = write(recipe, last).expect_err("refused");
        errors.iter().map(|one| (one.field, one.message.clone())).collect()
    }

    #[test]
    fn a_salami_whose_meat_comes_to_a_hundred_is_written() {
        assert!(write(salami(), None).is_ok());
        assert!(cautions(&salami()).is_empty(), "{:?}", cautions(&salami()));
    }

    #[test]
    fn a_version_follows_the_last_one_and_none_is_written_twice() {
        assert!(refused(salami(), Some(1))[0].1.contains("Version 1 was written in the meantime"));
        assert!(write(RecipeWritten { version: 2, ..salami() }, Some(1)).is_ok());
    }

    #[test]
    fn meat_that_does_not_come_to_a_hundred_is_refused_with_its_sum() {
        let mut short = salami();
        short.lines[1].percent = Percent::new(rust_decimal::dec!(20));
        assert!(refused(short, None)[0].1.contains("95 %"));
    }

    #[test]
    fn per_cent_of_the_brine_belongs_in_a_brine() {
        let mut odd = salami();
        odd.lines[2].per = Per::Brine;
        let said = refused(odd, None);
        assert_eq!(said[0].0, "lines");
        assert!(said[0].1.starts_with("Line 3, sea salt"), "{}", said[0].1);
    }

    #[test]
    fn a_whole_muscle_need_not_name_its_meat_and_is_not_stuffed() {
        let loin = RecipeWritten {
            kind: RecipeKind::DryCureEquilibrium,
            lines: vec![line(Role::Salt, "sea salt", "2.75", Per::Meat)],
            ..salami()
        };
        assert!(write(loin.clone(), None).is_ok());
        let mut stuffed = loin;
        stuffed.lines.push(line(Role::Casing, "collagen", "0", Per::Meat));
        assert!(refused(stuffed, None)[0].1.contains("not stuffed"));
    }

    #[test]
    fn a_salami_without_cure_or_culture_is_written_with_a_caution() {
        let mut bare = salami();
        bare.lines.retain(|line| !matches!(line.role, Role::Cure | Role::Culture));
        assert_eq!(cautions(&write(bare, None).expect("written")).len(), 2);
    }
}
