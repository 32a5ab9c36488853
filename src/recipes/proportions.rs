//! A recipe's lines as proportions that can be scaled. A casing is counted and not weighed into anything, so it stands
//! outside them; and a recipe for whole muscles need not name its meat, which is all of the meat block.

use rust_decimal::Decimal;

use super::entry::RecipeLine;
use super::words::{RecipeKind, Role};
use crate::measure::{Grams, Percent};
use crate::standards::BadFigure;
use crate::standards::formula::{BadFormula, Formula, Line, Of, Part};
use crate::standards::scaling::{self, Division, WeighOut};

/// The proportions of a recipe, and which line of it each belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proportions {
    formula: Formula,
    /// Places in the recipe, from 0; none for the meat that the recipe does not name.
    places: Vec<Option<usize>>,
}

impl Proportions {
    /// Lines in the recipe's order; `brine` in per cent of the meat, where there is one.
    ///
    /// # Errors
    /// Lines that make no formula: [`BadFormula`], whose line numbers count from 0 in the recipe.
    pub fn new(kind: RecipeKind, lines: &[RecipeLine], brine: Option<Percent>) -> Result<Self, BadFormula> {
        let named = lines.iter().any(|line| line.role.is_meat());
        let mut all = Vec::with_capacity(lines.len() + 1);
        let mut places = Vec::with_capacity(lines.len() + 1);
        for (place, line) in lines.iter().enumerate().filter(|(_, line)| line.role != Role::Casing) {
            all.push(Line { percent: line.percent, of: line.per.of(), part: part(kind, line.role) });
            places.push(Some(place));
        }
        if !named && kind.is_whole_muscle() {
            all.push(Line { percent: Percent::HUNDRED, of: Of::MeatBlock, part: Part::Meat });
            places.push(None);
        }
        let formula = Formula::new(all, brine).map_err(|why| in_the_recipe(why, &places))?;
        Ok(Self { formula, places })
    }

    /// What each line of the recipe weighs for so much meat, to 0.01 g; nothing for a casing.
    ///
    /// # Errors
    /// Meat of zero or less.
    pub fn targets(&self, meat: Grams, lines: usize) -> Result<Vec<Grams>, BadFigure> {
        let mut targets = vec![Grams::ZERO; lines];
        for (place, weight) in self.places.iter().zip(scaling::to_meat(&self.formula, meat.decimal())?) {
            if let Some(target) = place.and_then(|place| targets.get_mut(place)) {
                *target = Grams::new(weight);
            }
        }
        Ok(targets)
    }

    /// How much meat the stock of the line at `place` is enough for.
    ///
    /// # Errors
    /// A stock of zero or less; a line that the recipe has none of.
    pub fn meat_for(&self, place: usize, stock: Grams) -> Result<Grams, BadFigure> {
        let line = self.places.iter().position(|known| *known == Some(place)).unwrap_or(usize::MAX);
        Ok(Grams::new(scaling::meat_for(&self.formula, line, stock)?))
    }

    /// Every line as the shop's scales can weigh it: meat on the large one, all else on the small one. By place in the
    /// recipe; none for a casing.
    ///
    /// # Errors
    /// Too little meat for the scale to read.
    pub fn weigh_out(
        &self,
        meat: Grams,
        lines: usize,
        small: Division,
        large: Division,
    ) -> Result<Vec<Option<WeighOut>>, BadFigure> {
        let on = |_: usize, line: &Line| if line.part == Part::Meat { large } else { small };
        let mut out = vec![None; lines];
        for (place, line) in self.places.iter().zip(scaling::weigh_out(&self.formula, meat.decimal(), on)?) {
            if let Some(slot) = place.and_then(|place| out.get_mut(place)) {
                *slot = Some(line);
            }
        }
        Ok(out)
    }

    /// Parts to a hundred parts of meat, by place in the recipe; nothing for a casing.
    pub fn parts(&self, lines: usize) -> Vec<Decimal> {
        let mut parts = vec![Decimal::ZERO; lines];
        for (place, part) in self.places.iter().zip(self.formula.parts()) {
            if let Some(slot) = place.and_then(|place| parts.get_mut(place)) {
                *slot = *part;
            }
        }
        parts
    }

    /// Each line as per cent of the meat, of the whole and of the brine, by place in the recipe.
    pub fn percents(&self, of: Of, lines: usize) -> Vec<Option<Percent>> {
        let mut percents = vec![None; lines];
        for (place, percent) in self.places.iter().zip(self.formula.percents(of)) {
            if let Some(slot) = place.and_then(|place| percents.get_mut(place)) {
                *slot = percent;
            }
        }
        percents
    }

    /// Parts of brine to a hundred parts of meat, its dry ingredients included; nothing where there is no brine.
    pub fn brine(&self) -> Decimal {
        let lines = self.formula.lines().iter().zip(self.formula.parts());
        lines.filter(|(line, _)| line.part == Part::Brine).map(|(_, part)| *part).sum()
    }
}

fn part(kind: RecipeKind, role: Role) -> Part {
    match role {
        Role::Meat | Role::Fat => Part::Meat,
        _ if kind == RecipeKind::Brine => Part::Brine,
        _ => Part::Dry,
    }
}

/// The same refusal with the line's place in the recipe.
fn in_the_recipe(why: BadFormula, places: &[Option<usize>]) -> BadFormula {
    let at = |line: usize| places.get(line).copied().flatten().unwrap_or(line);
    match why {
        BadFormula::Negative { line } => BadFormula::Negative { line: at(line) },
        BadFormula::NotInBrine { line } => BadFormula::NotInBrine { line: at(line) },
        BadFormula::MeatOfWhole { line } => BadFormula::MeatOfWhole { line: at(line) },
        BadFormula::BrineTwoWays { line } => BadFormula::BrineTwoWays { line: at(line) },
        other => other,
    }
}
