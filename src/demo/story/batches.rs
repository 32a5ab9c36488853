//! Twelve batches of seven recipes, from the meat to the hook.

use anyhow::{Context, Result};
use rust_decimal::Decimal;

use super::super::teller::Teller;
use super::door::kilograms;
use super::recipes::{BEEF, COPPA, FENNEL_SALAMI, GUANCIALE, LOIN, PANCETTA, Recipe, SALAMI};

/// The salami that is sold while the story is told.
pub const SALAMI_A: &str = "salami, the first";
/// The one that fermented too warm for too long, and is on hold.
pub const WARM: &str = "salami, the warm one";
/// Its pieces are past the loss that was aimed at, and nobody has measured their water activity.
pub const COPPA_A: &str = "coppa, the first";

struct Plan {
    key: &'static str,
    begun: i64,
    recipe: &'static Recipe,
    /// How many pieces; of a salami, how many are stuffed.
    pieces: u16,
    /// Grams of meat for a salami; whole muscles take what there is.
    meat: u32,
    rail: &'static str,
}

const PLANS: [Plan; 12] = [
    Plan { key: COPPA_A, begun: 67, recipe: &COPPA, pieces: 2, meat: 0, rail: "chamber 1, rail A" },
    Plan { key: "pancetta", begun: 67, recipe: &PANCETTA, pieces: 4, meat: 0, rail: "chamber 1, rail C" },
    Plan { key: SALAMI_A, begun: 66, recipe: &SALAMI, pieces: 20, meat: 14_000, rail: "chamber 1, rail B" },
    Plan { key: "loin", begun: 53, recipe: &LOIN, pieces: 4, meat: 0, rail: "chamber 1, rail A" },
    Plan {
        key: "coppa, the second",
        begun: 53,
        recipe: &COPPA,
        pieces: 2,
        meat: 0,
        rail: "chamber 1, rail A",
    },
    Plan { key: "beef", begun: 46, recipe: &BEEF, pieces: 4, meat: 0, rail: "chamber 1, rail C" },
    Plan {
        key: "fennel salami",
        begun: 39,
        recipe: &FENNEL_SALAMI,
        pieces: 22,
        meat: 14_500,
        rail: "chamber 1, rail B",
    },
    Plan { key: "guanciale", begun: 39, recipe: &GUANCIALE, pieces: 2, meat: 0, rail: "chamber 1, rail C" },
    Plan {
        key: "coppa, the third",
        begun: 18,
        recipe: &COPPA,
        pieces: 2,
        meat: 0,
        rail: "chamber 1, rail A",
    },
    Plan {
        key: "pancetta, the second",
        begun: 18,
        recipe: &PANCETTA,
        pieces: 4,
        meat: 0,
        rail: "chamber 1, rail C",
    },
    Plan { key: WARM, begun: 4, recipe: &SALAMI, pieces: 6, meat: 4_200, rail: "chamber 1, rail B" },
    Plan {
        key: "salami, the second",
        begun: 2,
        recipe: &SALAMI,
        pieces: 16,
        meat: 12_600,
        rail: "chamber 1, rail B",
    },
];

/// A batch that was made.
pub struct Made {
    pub key: &'static str,
    pub path: String,
    /// Days ago.
    pub begun: i64,
    pub salami: bool,
    rail: &'static str,
    steps: &'static [(&'static str, &'static str)],
}

impl Made {
    /// How many days it has hung to dry on this day; below nothing before that.
    pub fn drying_for(&self, days_ago: i64) -> i64 {
        self.begun - self.until_drying() - days_ago
    }

    fn until_drying(&self) -> i64 {
        self.steps
            .iter()
            .take_while(|(stage, _)| *stage != "drying")
            .map(|(_, days)| days.parse().unwrap_or(0))
            .sum()
    }
}

/// What was begun on this day.
pub async fn make(t: &mut Teller, days_ago: i64, made: &mut Vec<Made>) -> Result<()> {
    for (n, plan) in (0..).zip(PLANS.iter().filter(|plan| plan.begun == days_ago)) {
        t.at(days_ago, 13 + n, 10)?;
        t.is("ines");
        let salami = plan.meat > 0;
        let path = if salami { stuff(t, plan).await? } else { lay_in_cure(t, plan).await? };
        made.push(Made {
            key: plan.key,
            path,
            begun: plan.begun,
            salami,
            rail: plan.rail,
            steps: plan.recipe.steps,
        });
    }
    Ok(())
}

async fn begin(t: &Teller, plan: &Plan, grams: Decimal, place: &str) -> Result<String> {
    let weight = kilograms(grams);
    let form = [
        ("recipe", t.id(&format!("recipe {}", plan.recipe.name))?),
        ("version", ""),
        ("meat", weight.as_str()),
        ("meat_unit", "kg"),
        ("place", t.id(&format!("place {place}"))?),
        ("when", ""),
    ];
    let led = t.signs("/batches/new", &form).await?;
    Ok(led.split('?').next().unwrap_or(&led).to_owned())
}

/// Whole muscles: each becomes a piece, then the cure is weighed and laid on.
async fn lay_in_cure(t: &Teller, plan: &Plan) -> Result<String> {
    let (_, item, _) = plan.recipe.lines.first().context("a recipe begins with its meat")?;
    let lot = t.lots(item).await?.pop().with_context(|| format!("no {item} for {}", plan.key))?;
    let all = lot.grams.decimal();
    let path = begin(t, plan, all, "curing fridge").await?;
    let mut left = all;
    for n in 0..plan.pieces {
        let rest = Decimal::from(plan.pieces - n);
        let uneven = if n % 2 == 0 { Decimal::new(104, 2) } else { Decimal::new(97, 2) };
        let grams = if n + 1 == plan.pieces { left } else { fives(left / rest * uneven) };
        left -= grams;
        take(t, &path, &lot.id.to_string(), 1, grams).await?;
    }
    ingredients(t, plan, &path, all).await?;
    t.signs(
        &format!("{path}/cure"),
        &[("left_over", ""), ("left_over_unit", "g"), ("reason", ""), ("when", "")],
    )
    .await?;
    enter(t, &path, "curing", "curing fridge").await?;
    Ok(path)
}

/// Minced, mixed, stuffed into beef middles and hung to ferment.
async fn stuff(t: &Teller, plan: &Plan) -> Result<String> {
    let meat = Decimal::from(plan.meat);
    let path = begin(t, plan, meat, "block").await?;
    let mut taken = Decimal::ZERO;
    for (n, (role, item, percent)) in (1..).zip(plan.recipe.lines) {
        if matches!(*role, "meat" | "fat") {
            let grams = fives(meat * Decimal::from_str_exact(percent)? / Decimal::ONE_HUNDRED);
            taken += grams;
            take_from_all(t, &path, item, n, grams).await?;
        }
    }
    ingredients(t, plan, &path, taken).await?;
    let pieces = plan.pieces.to_string();
    let casing = t.lot("beef middle 55-60 mm", Decimal::from(400)).await?.id.to_string();
    let form = [
        ("count", pieces.as_str()),
        ("weights", ""),
        ("casing", casing.as_str()),
        ("casing_weight", "320"),
        ("casing_weight_unit", "g"),
        ("diameter", "58"),
        ("loss", "140"),
        ("loss_unit", "g"),
        ("all", "yes"),
        ("place", t.id("place fermenting cabinet")?),
        ("reason", ""),
        ("when", ""),
    ];
    t.signs(&format!("{path}/pieces"), &form).await?;
    enter(t, &path, "fermenting", "fermenting cabinet").await?;
    Ok(path)
}

/// Takes meat from as many lots as it needs, the oldest first.
async fn take_from_all(t: &Teller, path: &str, item: &str, line: u16, grams: Decimal) -> Result<()> {
    let mut missing = grams;
    for lot in t.lots(item).await? {
        let here = missing.min(lot.grams.decimal());
        if here > Decimal::ZERO {
            take(t, path, &lot.id.to_string(), line, here).await?;
            missing -= here;
        }
    }
    anyhow::ensure!(missing.is_zero(), "{missing} g of {item} are missing");
    Ok(())
}

async fn take(t: &Teller, path: &str, lot: &str, line: u16, grams: Decimal) -> Result<()> {
    let (line, weight) = (line.to_string(), kilograms(grams));
    let form = [
        ("lot", lot),
        ("line", line.as_str()),
        ("weight", weight.as_str()),
        ("weight_unit", "kg"),
        ("when", ""),
    ];
    t.signs(&format!("{path}/meat"), &form).await?;
    Ok(())
}

async fn ingredients(t: &Teller, plan: &Plan, path: &str, meat: Decimal) -> Result<()> {
    for (n, (role, item, percent)) in (1_u16..).zip(plan.recipe.lines) {
        if matches!(*role, "meat" | "fat") {
            continue;
        }
        let exact = meat * Decimal::from_str_exact(percent)? / Decimal::ONE_HUNDRED;
        let grams = exact.round_dp(1);
        let lot = t.lot(item, grams).await?.id.to_string();
        let (line, weight) = (n.to_string(), grams.to_string());
        let form = [
            ("line", line.as_str()),
            ("lot", lot.as_str()),
            ("weight", weight.as_str()),
            ("weight_unit", "g"),
            ("reason", ""),
            ("when", ""),
        ];
        t.signs(&format!("{path}/ingredients"), &form).await?;
    }
    Ok(())
}

async fn enter(t: &Teller, path: &str, stage: &str, place: &str) -> Result<()> {
    let form = [("stage", stage), ("place", t.id(&format!("place {place}"))?), ("reason", ""), ("when", "")];
    t.signs(&format!("{path}/stages"), &form).await?;
    Ok(())
}

/// Batches whose stage is over on this day go on to the next.
pub async fn go_on(t: &mut Teller, days_ago: i64, made: &[Made]) -> Result<()> {
    // What is on hold stays where it is until somebody has decided on it.
    for batch in made.iter().filter(|batch| batch.key != WARM) {
        let mut over = batch.begun;
        for (step, next) in batch.steps.iter().zip(batch.steps.iter().skip(1)) {
            over -= step.1.parse::<i64>().unwrap_or(0);
            if over == days_ago {
                t.at(days_ago, 16, 40)?;
                t.is("ines");
                let place = if next.0 == "drying" { batch.rail } else { "curing fridge" };
                enter(t, &batch.path, next.0, place).await?;
            }
        }
    }
    Ok(())
}

fn fives(grams: Decimal) -> Decimal {
    (grams / Decimal::from(5)).round() * Decimal::from(5)
}
