//! Ingoing nitrite and nitrate, salt and sugar, with their limits, ready to print.

use askama::Template;
use rust_decimal::Decimal;

use crate::error::Result;
use crate::limits::{self, CureOf, HeldRow, InForce, held_rows};
use crate::measure::Percent;
use crate::recipes::db::OnHand;
use crate::recipes::entry::RecipeLine;
use crate::recipes::ingoing::{self, ASSUMED_MOISTURE, HANDBOOK, IngoingBoth};
use crate::recipes::{Proportions, Recipe, Role};
use crate::standards::ingoing::{Brings, Curing};
use crate::standards::limits::{Product, Stands};
use crate::web::parts::{Fact, Figure};

/// A recipe as far as it has to be reckoned: written, or being typed.
pub struct Reckoned<'a> {
    pub lines: &'a [RecipeLine],
    pub curing: Curing,
    pub product: Product,
    pub moisture: Option<Percent>,
}

impl<'a> Reckoned<'a> {
    pub fn of(recipe: &'a Recipe) -> Self {
        Self {
            lines: &recipe.lines,
            curing: recipe.curing(),
            product: recipe.falls_under(),
            moisture: recipe.moisture,
        }
    }
}

/// What stands at the head of a recipe that is over a limit; nothing where it is not.
#[derive(Template)]
#[template(path = "recipes/over.html")]
struct Over<'a> {
    over: &'a [String],
}

impl Sums {
    /// The notice at the head of the page, drawn.
    pub fn head(&self) -> Result<String> {
        Ok(Over { over: &self.over }.render().map_err(anyhow::Error::from)?)
    }
}

/// The lot by whose strength a cure of the recipe is reckoned as long as none is weighed: the newest on hand that states
/// one.
pub fn reckoned_by<'a>(line: &RecipeLine, lots: &'a [OnHand]) -> Option<&'a OnHand> {
    lots.iter().filter(|lot| lot.item == line.item.id && lot.strength.is_some()).max_by_key(|lot| lot.code)
}

/// What the page says of the cures: figures, their limits, how they were reckoned, and what could not be.
#[derive(Default)]
pub struct Sums {
    pub figures: Vec<Figure>,
    pub held: Vec<HeldRow>,
    pub facts: Vec<Fact>,
    /// Cures of which no lot on hand states a strength.
    pub unknown: Vec<String>,
    /// What is over a limit in force, a sentence each.
    pub over: Vec<String>,
    /// What there is to say where no limit is asked; else empty.
    pub no_limits: &'static str,
}

/// Sums of lines that weigh `weights` (or are parts to a hundred of meat) for so much meat.
pub fn sums(
    of: &Reckoned<'_>,
    weights: &[Decimal],
    meat: Decimal,
    lots: &[OnHand],
    in_force: &InForce,
) -> Sums {
    let mut sums = Sums::default();
    let mut cures = Vec::new();
    let brings: Vec<Option<Brings>> = of
        .lines
        .iter()
        .map(|line| {
            let lot = (line.role == Role::Cure).then(|| reckoned_by(line, lots)).flatten();
            let strength = lot.and_then(|lot| lot.strength);
            match (line.role, lot, strength) {
                (Role::Cure, Some(lot), Some(strength)) => {
                    let brings = ingoing::put(line, Decimal::ZERO, Some(strength)).brings;
                    cures.push(CureOf { name: line.item.name.clone(), brings });
                    sums.facts.push(strength_of(&line.item.name, lot, strength));
                }
                (Role::Cure, ..) => sums.unknown.push(line.item.name.clone()),
                (Role::Accelerator, ..) => {
                    let brings = ingoing::put(line, Decimal::ZERO, None).brings;
                    cures.push(CureOf { name: line.item.name.clone(), brings });
                }
                _ => {}
            }
            strength
        })
        .collect();
    let goes_in =
        ingoing::goes_in(of.curing, of.lines, weights, meat, |place| brings.get(place).copied().flatten());
    if sums.unknown.is_empty()
        && let Ok(goes_in) = goes_in
    {
        if !cures.is_empty() {
            let both = IngoingBoth::of(&goes_in);
            sums.figures.extend(of_both(&both));
            sums.facts.extend(how(&both));
        }
        let judged = limits::judge(&in_force.held, of.product, &goes_in);
        sums.over = judged.iter().filter(|one| one.stands == Stands::Over).map(limits::over).collect();
        sums.held = held_rows(&judged, &goes_in, &cures, meat);
        sums.no_limits = no_limits(in_force, sums.held.is_empty());
    }
    salt_and_sugar(&mut sums, of, weights, meat, &brings);
    sums
}

/// What there is to say where nothing is held against a limit.
pub fn no_limits(in_force: &InForce, none: bool) -> &'static str {
    match (in_force.jurisdiction, none) {
        (_, false) => "",
        (None, true) if in_force.held.is_empty() => {
            "The shop has not said whose limits it holds itself to, so nothing is held against one. The owner says it in Setup."
        }
        (_, true) => "No limit in force speaks of what goes in here.",
    }
}

fn salt_and_sugar(
    sums: &mut Sums,
    of: &Reckoned<'_>,
    weights: &[Decimal],
    meat: Decimal,
    brings: &[Option<Brings>],
) {
    let salts: Vec<_> =
        of.lines.iter().zip(brings).map(|(line, brings)| ingoing::salt_in(line, *brings)).collect();
    let sugars: Vec<_> = of.lines.iter().map(ingoing::sugar_in).collect();
    let waters: Vec<_> = of
        .lines
        .iter()
        .map(|line| if line.role == Role::Water { Percent::HUNDRED } else { Percent::ZERO })
        .collect();
    let salt = ingoing::of_meat(weights, &salts, meat);
    let sugar = ingoing::of_meat(weights, &sugars, meat);
    let water = ingoing::of_meat(weights, &waters, meat);
    let beneath = "of the meat, the cure's own salt in it";
    sums.figures.push(Figure::new("Salt in all", two_places(salt), "%").beneath(beneath));
    let rest = of.lines.iter().zip(weights).filter(|(line, _)| !line.role.is_meat());
    let taken = of.curing.share_of(meat, rest.map(|(_, weight)| *weight).sum());
    let moisture = of.moisture.unwrap_or_else(|| Percent::new(ASSUMED_MOISTURE.into()));
    let phase = ingoing::in_the_water(salt.decimal() * taken, water.decimal() * taken, moisture);
    if let Some(phase) = phase.filter(|phase| !phase.decimal().is_zero()) {
        let beneath = if of.moisture.is_some() {
            format!("raw, an estimate from the stated {moisture}\u{a0}% of water in the meat")
        } else {
            format!("raw, an estimate from an assumed {moisture}\u{a0}% of water in the meat")
        };
        sums.figures.push(Figure::new("Salt in the water", two_places(phase), "%").beneath(beneath));
        sums.facts.push(Fact::new(
            "Salt in the water",
            "salt × 100 ÷ (water + salt), Ontario fish plant guidelines F.B.14.14; an estimate never stands for a meter",
        ));
    }
    if !sugar.decimal().is_zero() {
        sums.figures.push(Figure::new("Sugar in all", two_places(sugar), "%").beneath("of the meat"));
    }
    if of.lines.iter().any(|line| line.role == Role::Cure && line.salt.is_none()) {
        sums.facts.push(Fact::new(
            "Salt in the cure",
            "taken as all of it that is not nitrite or nitrate, since the recipe does not say; a carrier would make it less",
        ));
    }
}

/// `2.73`: closer than any scale of a shop weighs it.
fn two_places(percent: Percent) -> String {
    percent.text_places(2).trim_end_matches('%').trim_end().to_owned()
}

fn strength_of(name: &str, lot: &OnHand, strength: Brings) -> Fact {
    Fact::new("Strength", format!("{name}: {}, by lot {}, the newest on hand", said(strength), lot.code))
        .link(lot.lot.path())
}

/// "nitrite 6.25 %, nitrate 4 % (as KNO3)"
pub fn said(strength: Brings) -> String {
    use crate::standards::limits::Alkali::Potassium;
    let nitrite_salt = if strength.nitrite_salt == Potassium { " (as KNO2)" } else { "" };
    let nitrate_salt = if strength.nitrate_salt == Potassium { " (as KNO3)" } else { "" };
    let nitrate = if strength.nitrate.decimal().is_zero() {
        String::new()
    } else {
        format!(", nitrate {}\u{a0}%{nitrate_salt}", strength.nitrate)
    };
    format!("nitrite {}\u{a0}%{nitrite_salt}{nitrate}", strength.nitrite)
}

/// Nitrite, and nitrate where there is any.
pub fn of_both(both: &IngoingBoth) -> Vec<Figure> {
    let figure = |name: &str, one: crate::standards::ingoing::Fraction, stated: &str| {
        let text = one.ppm().text();
        let number = text.trim_end_matches("ppm").trim().to_owned();
        Figure::new(name, number, "ppm").beneath(format!("{}, as {stated}", both.way.base().words()))
    };
    let mut figures = vec![figure("Ingoing nitrite", both.nitrite, "NaNO2")];
    if !both.nitrate.is_nothing() {
        figures.push(figure("Ingoing nitrate", both.nitrate, "NaNO3"));
    }
    figures
}

/// By which method, formula and source.
pub fn how(both: &IngoingBoth) -> Vec<Fact> {
    vec![
        Fact::new("Reckoned as", both.way.word()),
        Fact::new("Formula", both.way.formula()),
        Fact::new("Source", HANDBOOK),
    ]
}

/// The recipe's proportions. What the book holds was checked when it was written.
pub fn proportions(recipe: &Recipe) -> crate::error::Result<Proportions> {
    let proportions = Proportions::new(recipe.kind, &recipe.lines, recipe.brine);
    Ok(proportions.map_err(|why| anyhow::anyhow!("recipe {} does not reckon: {why}", recipe.id))?)
}
