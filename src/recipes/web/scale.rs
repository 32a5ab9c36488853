//! `/recipes/{id}/scale`: a version as weights, for so much meat or back from so much of one line in stock.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;

use super::figures::{self, Reckoned};
use super::{NITRITE, plain};
use crate::error::{Error, Errors, Result};
use crate::ids::RecipeId;
use crate::limits::{self, HeldRow, InForce};
use crate::measure::Grams;
use crate::recipes::db::{self, Recipe};
use crate::recipes::{Proportions, Role};
use crate::rights::Right;
use crate::standards::BadFigure;
use crate::standards::scaling::{Division, WeighOut};
use crate::web::parts::{Choice, Fact, Figure};
use crate::web::{App, Area, Frame, Me, Path, Query, Reader, Shop, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ScaleForm {
    version: String,
    meat: String,
    meat_unit: String,
    /// Which line is in stock, from 1; empty scales to the meat.
    from: String,
    stock: String,
    stock_unit: String,
}

/// What to scale to.
#[derive(Clone, Copy)]
enum To {
    Meat(Grams),
    /// From the line at this place, counted from 0.
    Stock(usize, Grams),
}

impl ScaleForm {
    /// Nothing when nothing was asked yet.
    fn read(&self, shop: &Shop) -> Result<Option<To>, Errors> {
        let mut read = Reader::new(shop);
        if self.from.trim().is_empty() {
            if self.meat.trim().is_empty() {
                return Ok(None);
            }
            let meat = read.weight("meat", &self.meat, &self.meat_unit);
            return read.finish(|| Some(Some(To::Meat(meat?))));
        }
        let line = read.count("from", &self.from, 1, 100);
        let stock = read.small_weight("stock", &self.stock, &self.stock_unit);
        read.finish(|| Some(Some(To::Stock(usize::from(line?) - 1, stock?))))
    }
}

struct Row {
    name: String,
    target: String,
    weigh: String,
    stated: String,
    actual: String,
    difference: String,
    /// The scale reads nothing of it.
    nothing: bool,
}

#[derive(Template)]
#[template(path = "recipes/scale.html")]
struct ScalePage {
    frame: Frame,
    id: RecipeId,
    name: String,
    version: u16,
    form: ScaleForm,
    errors: Errors,
    from: Vec<Choice>,
    scaled: bool,
    meat: String,
    begin: String,
    rows: Vec<Row>,
    total: String,
    figures: Vec<Figure>,
    held: Vec<HeldRow>,
    sums: Vec<Fact>,
    unknown: Vec<String>,
    divisions: String,
    nitrite: &'static str,
    cures: bool,
}

/// GET `/recipes/{id}/scale`
pub async fn page(
    State(app): State<App>,
    me: Me,
    Path(id): Path<RecipeId>,
    Query(mut form): Query<ScaleForm>,
) -> Result<Response> {
    let version = match form.version.trim() {
        "" => None,
        text => Some(text.parse().map_err(|_| Error::NotFound)?),
    };
    let mut conn = app.db().await?;
    let recipe = db::recipe(&mut conn, id, version).await?.ok_or(Error::NotFound)?;
    let items: Vec<_> = recipe.lines.iter().map(|line| line.item.id).collect();
    let lots = db::on_hand(&mut conn, &items).await?;
    let proportions = figures::proportions(&recipe)?;
    let (meat, errors) = match form.read(&me.shop).map(|to| to.map(|to| meat_of(to, &proportions, &me.shop)))
    {
        Ok(None) => (None, Errors::default()),
        Ok(Some(Ok(meat))) => (Some(meat), Errors::default()),
        Ok(Some(Err(why))) => (None, crate::error::Refusal::at("stock", why.to_string()).into()),
        Err(errors) => (None, errors),
    };
    let weighed = meat.map(|meat| weigh_out(&recipe, &proportions, meat, &me.shop)).transpose();
    let (weighed, errors) = match weighed {
        Ok(weighed) => (weighed, errors),
        Err(why) => (None, crate::error::Refusal::at("meat", why.to_string()).into()),
    };
    fill_units(&mut form, &me.shop);
    let frame = Frame::new(&app, &me, Area::Recipes);
    let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let scaled = meat.zip(weighed);
    let in_force = limits::in_force(&mut conn, me.today(), me.now).await?;
    let sums = scaled.as_ref().map(|(_, lines)| sums(&recipe, lines, &lots, &in_force)).unwrap_or_default();
    let page = ScalePage {
        frame,
        id,
        name: recipe.name.clone(),
        version: recipe.version,
        errors,
        from: choices(&recipe),
        scaled: scaled.is_some(),
        meat: meat.map(|meat| me.shop.weight(meat)).unwrap_or_default(),
        begin: begin(&me, &recipe, meat),
        rows: scaled.as_ref().map(|(_, lines)| rows(&me.shop, &recipe, lines)).unwrap_or_default(),
        total: total(&me.shop, scaled.as_ref().map(|(_, lines)| lines.as_slice())),
        figures: sums.figures,
        held: sums.held,
        sums: sums.facts,
        unknown: sums.unknown,
        divisions: format!(
            "Rounded to what the scales show: {} for cures and spices, {} for meat.",
            me.shop.weight(me.shop.small_division),
            me.shop.weight(me.shop.large_division)
        ),
        nitrite: NITRITE,
        cures: recipe.lines.iter().any(|line| line.role == Role::Cure),
        form,
    };
    page::show(status, &page)
}

/// How much meat it is for. Of a stock, no more than the scale can weigh out of it.
fn meat_of(to: To, proportions: &Proportions, shop: &Shop) -> Result<Grams, BadFigure> {
    match to {
        To::Meat(meat) => Ok(meat),
        To::Stock(place, stock) => {
            let weighable = Division::new(shop.small_division)?.below(stock);
            proportions.meat_for(place, weighable)
        }
    }
}

fn weigh_out(
    recipe: &Recipe,
    proportions: &Proportions,
    meat: Grams,
    shop: &Shop,
) -> Result<Vec<Option<WeighOut>>, BadFigure> {
    let (small, large) = (Division::new(shop.small_division)?, Division::new(shop.large_division)?);
    proportions.weigh_out(meat, recipe.lines.len(), small, large)
}

fn fill_units(form: &mut ScaleForm, shop: &Shop) {
    if form.meat_unit.is_empty() {
        shop.weight_unit().symbol().clone_into(&mut form.meat_unit);
    }
    if form.stock_unit.is_empty() {
        shop.small_unit().symbol().clone_into(&mut form.stock_unit);
    }
}

fn choices(recipe: &Recipe) -> Vec<Choice> {
    let lines = (1..).zip(&recipe.lines).filter(|(_, line)| line.role != Role::Casing);
    lines.map(|(n, line)| Choice::new(n, line.item.name.clone()).note(line.role.word())).collect()
}

/// The ppm of what the scales will really show.
fn sums(
    recipe: &Recipe,
    lines: &[Option<WeighOut>],
    lots: &[db::OnHand],
    in_force: &InForce,
) -> figures::Sums {
    let weights: Vec<Decimal> =
        lines.iter().map(|line| line.map_or(Decimal::ZERO, |line| line.weigh.decimal())).collect();
    let of = |counts: &dyn Fn(Role) -> bool| -> Decimal {
        recipe
            .lines
            .iter()
            .zip(&weights)
            .filter(|(line, _)| counts(line.role))
            .map(|(_, weight)| *weight)
            .sum()
    };
    let named = of(&Role::is_meat);
    let meat = if named.is_zero() { meat_unnamed(recipe, lines) } else { named };
    figures::sums(&Reckoned::of(recipe), &weights, meat, lots, in_force)
}

/// The meat of a recipe that does not name it, from what any line asks of it.
fn meat_unnamed(recipe: &Recipe, lines: &[Option<WeighOut>]) -> Decimal {
    let proportions = Proportions::new(recipe.kind, &recipe.lines, recipe.brine);
    let parts = proportions.map(|found| found.parts(recipe.lines.len())).unwrap_or_default();
    let known = lines.iter().zip(parts).find_map(|(line, part)| {
        let target = line.as_ref()?.target.decimal();
        (!part.is_zero() && !target.is_zero()).then(|| target * Decimal::ONE_HUNDRED / part)
    });
    known.unwrap_or_default()
}

fn rows(shop: &Shop, recipe: &Recipe, lines: &[Option<WeighOut>]) -> Vec<Row> {
    let row = |(line, weighed): (&crate::recipes::RecipeLine, &Option<WeighOut>)| {
        let weighed = weighed.as_ref()?;
        let difference = weighed.difference.decimal();
        Some(Row {
            name: line.item.name.clone(),
            target: shop.weight(weighed.target),
            weigh: shop.weight(weighed.weigh),
            stated: format!("{} {}", plain(weighed.target_percent), line.per.words()),
            actual: plain(weighed.actual_percent),
            difference: if difference.is_zero() {
                "none".into()
            } else {
                format!(
                    "{}{}\u{a0}%",
                    if difference.is_sign_negative() { "\u{2212}" } else { "+" },
                    difference.abs()
                )
            },
            nothing: weighed.weigh.is_zero(),
        })
    };
    recipe.lines.iter().zip(lines).filter_map(row).collect()
}

fn total(shop: &Shop, lines: Option<&[Option<WeighOut>]>) -> String {
    let sum: Grams = lines.unwrap_or_default().iter().flatten().map(|line| line.weigh).sum();
    shop.weight(sum)
}

/// The way on: a batch of this version for this meat. Empty for who may not make one, or of a recipe laid aside.
fn begin(me: &Me, recipe: &Recipe, meat: Option<Grams>) -> String {
    match meat {
        Some(meat) if me.may(Right::Cure) && !recipe.retired => {
            format!(
                "/batches/new?recipe={}&version={}&meat={}&meat_unit=g",
                recipe.id,
                recipe.version,
                meat.decimal()
            )
        }
        _ => String::new(),
    }
}
