//! Ingoing nitrite and nitrate, salt and sugar, ready to print.

use rust_decimal::Decimal;

use crate::measure::Percent;
use crate::recipes::db::{OnHand, Recipe};
use crate::recipes::ingoing::{self, IngoingBoth};
use crate::recipes::{Proportions, Role};
use crate::standards::curing::Strength;
use crate::web::parts::{Fact, Figure};

/// The lot by whose strength a cure of the recipe is reckoned as long as none is weighed: the newest on hand that states
/// one.
pub fn reckoned_by<'a>(recipe: &Recipe, place: usize, lots: &'a [OnHand]) -> Option<&'a OnHand> {
    let item = recipe.lines.get(place)?.item.id;
    lots.iter().filter(|lot| lot.item == item && lot.strength.is_some()).max_by_key(|lot| lot.code)
}

/// What the page says of the cures: figures, how they were reckoned, and what could not be.
pub struct Sums {
    pub figures: Vec<Figure>,
    pub facts: Vec<Fact>,
    /// Cures of which no lot on hand states a strength.
    pub unknown: Vec<String>,
}

/// Sums of a recipe whose lines weigh `weights` (or are parts to a hundred of meat) for so much meat and brine.
pub fn sums(recipe: &Recipe, weights: &[Decimal], meat: Decimal, brine: Decimal, lots: &[OnHand]) -> Sums {
    let mut cures: Vec<(Decimal, Strength)> = Vec::new();
    let mut sums = Sums { figures: Vec::new(), facts: Vec::new(), unknown: Vec::new() };
    let mut salts = Vec::with_capacity(recipe.lines.len());
    for (place, line) in recipe.lines.iter().enumerate() {
        let lot = (line.role == Role::Cure).then(|| reckoned_by(recipe, place, lots)).flatten();
        let strength = lot.and_then(|lot| lot.strength);
        salts.push(ingoing::salt_in(line, strength));
        match (line.role, lot, strength) {
            (Role::Cure, Some(lot), Some(strength)) => {
                let weight = weights.get(place).copied().unwrap_or_default();
                cures.push((weight, strength));
                sums.facts.push(strength_of(&line.item.name, lot, strength));
            }
            (Role::Cure, ..) => sums.unknown.push(line.item.name.clone()),
            _ => {}
        }
    }
    if sums.unknown.is_empty()
        && !cures.is_empty()
        && let Ok(both) = ingoing::ingoing(recipe.kind, &cures, meat, brine)
    {
        sums.figures.extend(of_both(&both));
        sums.facts.extend(how(&both));
    }
    let sugars: Vec<_> = recipe.lines.iter().map(ingoing::sugar_in).collect();
    let salt = ingoing::of_meat(weights, &salts, meat);
    let sugar = ingoing::of_meat(weights, &sugars, meat);
    sums.figures.push(
        Figure::new("Salt in all", two_places(salt), "%").beneath("of the meat, the cure's own salt in it"),
    );
    if !sugar.decimal().is_zero() {
        sums.figures.push(Figure::new("Sugar in all", two_places(sugar), "%").beneath("of the meat"));
    }
    if recipe.lines.iter().any(|line| line.role == Role::Cure && line.salt.is_none()) {
        sums.facts.push(Fact::new(
            "Salt in the cure",
            "taken as all of it that is not nitrite or nitrate, since the recipe does not say; a carrier would make it less",
        ));
    }
    sums
}

/// `2.73`: closer than any scale of a shop weighs it.
fn two_places(percent: Percent) -> String {
    percent.text_places(2).trim_end_matches('%').trim_end().to_owned()
}

fn strength_of(name: &str, lot: &OnHand, strength: Strength) -> Fact {
    let Strength { nitrite, nitrate } = strength;
    let nitrate =
        if nitrate.decimal().is_zero() { String::new() } else { format!(", nitrate {nitrate}\u{a0}%") };
    Fact::new(
        format!("Strength of {name}"),
        format!("nitrite {nitrite}\u{a0}%{nitrate}, by lot {}, the newest on hand", lot.code),
    )
    .link(lot.lot.path())
}

/// Nitrite, and nitrate where there is any.
pub fn of_both(both: &IngoingBoth) -> Vec<Figure> {
    let figure = |name: &str, one: &crate::standards::curing::Ingoing| {
        let text = one.ppm.text();
        let number = text.trim_end_matches("ppm").trim().to_owned();
        Figure::new(name, number, "ppm").beneath(one.basis.words())
    };
    let mut figures = vec![figure("Ingoing nitrite", &both.nitrite)];
    if !both.nitrate.exact.is_zero() {
        figures.push(figure("Ingoing nitrate", &both.nitrate));
    }
    figures
}

/// By which method, formula and source.
pub fn how(both: &IngoingBoth) -> Vec<Fact> {
    vec![
        Fact::new("Reckoned as", both.method),
        Fact::new("Formula", both.nitrite.formula),
        Fact::new("Source", both.nitrite.source),
    ]
}

/// The recipe's proportions. What the book holds was checked when it was written.
pub fn proportions(recipe: &Recipe) -> crate::error::Result<Proportions> {
    let proportions = Proportions::new(recipe.kind, &recipe.lines, recipe.brine);
    Ok(proportions.map_err(|why| anyhow::anyhow!("recipe {} does not reckon: {why}", recipe.id))?)
}
