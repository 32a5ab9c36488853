//! `/recipes/{id}`: a recipe in one of its versions, and laying it aside.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;
use uuid::Uuid;

use super::figures::{self, Reckoned};
use super::{NITRITE, plain};
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::RecipeId;
use crate::limits::{self, HeldRow};
use crate::recipes::db::{self, Recipe};
use crate::recipes::entry::{self, RecipeRetired, RecipeWritten};
use crate::recipes::{Role, Stage};
use crate::rights::Right;
use crate::rights::needs::Cure;
use crate::standards::formula::Of;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Fact, Figure, Line, Tab};
use crate::web::{App, Area, Form, Frame, Me, Path, Query, Reader, Signer, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 40;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Which {
    version: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct RetireForm {
    retired: String,
}

struct Row {
    role: &'static str,
    name: String,
    stated: String,
    of_meat: String,
    of_whole: String,
    of_brine: String,
    tolerance: String,
    /// A cure of which no lot on hand states a strength.
    unknown: bool,
}

struct StepRow {
    stage: &'static str,
    lasts: String,
    note: String,
}

#[allow(clippy::struct_excessive_bools, reason = "what the template asks is yes or no")]
#[derive(Template)]
#[template(path = "recipes/show.html")]
struct ShowPage {
    frame: Frame,
    id: RecipeId,
    form_id: Uuid,
    errors: Errors,
    name: String,
    version: u16,
    last: bool,
    kind: &'static str,
    retired: bool,
    note: String,
    /// The notice that it is over a limit, drawn; empty where it is not.
    over: String,
    figures: Vec<Figure>,
    facts: Vec<Fact>,
    sums: Vec<Fact>,
    held: Vec<HeldRow>,
    no_limits: &'static str,
    not_said: &'static str,
    unknown: Vec<String>,
    cautions: Vec<String>,
    rows: Vec<Row>,
    brine: bool,
    steps: Vec<StepRow>,
    versions: Vec<Tab>,
    lines: Vec<Line>,
    nitrite: &'static str,
    cures: bool,
    may_write: bool,
}

/// GET `/recipes/{id}`
pub async fn page(
    State(app): State<App>,
    me: Me,
    Path(id): Path<RecipeId>,
    Query(which): Query<Which>,
) -> Result<Response> {
    let version = match which.version.trim() {
        "" => None,
        text => Some(text.parse().map_err(|_| Error::NotFound)?),
    };
    ask(&app, &me, StatusCode::OK, id, version, Errors::default()).await
}

/// POST `/recipes/{id}/retirement`
pub async fn retire(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<RecipeId>,
    form: Form<RetireForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, None, errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: RecipeId, form: &Form<RetireForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let retired = match form.retired.as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => {
            read.refuse("retired", "Say whether it is laid aside.");
            None
        }
    };
    let retired = read.finish(|| retired)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let recipe = db::recipe(&mut pen, id, None).await?.ok_or(Error::NotFound)?;
    if recipe.retired != retired {
        pen.append(RecipeRetired { recipe: recipe.named(), retired }).await?;
    }
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: RecipeId,
    version: Option<u16>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let recipe = db::recipe(&mut conn, id, version).await?.ok_or(Error::NotFound)?;
    let versions = db::versions(&mut conn, id).await?;
    let items: Vec<_> = recipe.lines.iter().map(|line| line.item.id).collect();
    let lots = db::on_hand(&mut conn, &items).await?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let proportions = figures::proportions(&recipe)?;
    let parts = proportions.parts(recipe.lines.len());
    let in_force = limits::in_force(&mut conn, me.today(), me.now).await?;
    let sums = figures::sums(&Reckoned::of(&recipe), &parts, Decimal::ONE_HUNDRED, &lots, &in_force);
    let style = Style { days: true, ..Style::default() };
    let last = versions.first().is_none_or(|first| first.version == i32::from(recipe.version));
    let page = ShowPage {
        frame: Frame::new(app, me, Area::Recipes),
        id,
        form_id: fresh_id(),
        errors,
        name: recipe.name.clone(),
        version: recipe.version,
        last,
        kind: recipe.kind.word(),
        retired: recipe.retired,
        note: recipe.note.clone(),
        over: sums.head()?,
        figures: sums.figures,
        facts: facts(me, &recipe),
        sums: sums.facts,
        held: sums.held,
        no_limits: sums.no_limits,
        not_said: limits::NOT_SAID,
        cautions: entry::cautions(&as_written(&recipe)),
        rows: rows(&recipe, &proportions, &sums.unknown),
        unknown: sums.unknown,
        brine: !proportions.brine().is_zero(),
        steps: recipe.steps.iter().map(step_row).collect(),
        versions: versions
            .iter()
            .map(|one| Tab {
                href: format!("{}?version={}", id.path(), one.version),
                name: format!("Version {}", one.version),
                count: ledger::day(me, one.written_at),
                here: one.version == i32::from(recipe.version),
            })
            .collect(),
        lines: ledger::lines(&app.book.kinds, me, &entries, style)?,
        nitrite: NITRITE,
        cures: recipe.lines.iter().any(|line| line.role == Role::Cure),
        may_write: me.may(Right::Cure),
    };
    page::show(status, &page)
}

/// The version as it was signed, for the cautions.
fn as_written(recipe: &Recipe) -> RecipeWritten {
    RecipeWritten {
        recipe: recipe.id,
        name: recipe.name.clone(),
        version: recipe.version,
        kind: recipe.kind,
        product: recipe.product.clone(),
        brine: recipe.brine,
        target_loss: recipe.target_loss,
        weigh_every: recipe.weigh_every,
        note: recipe.note.clone(),
        way: recipe.way,
        pump: recipe.pump,
        pick_up: recipe.pick_up,
        falls_under: recipe.falls_under,
        moisture: recipe.moisture,
        lines: recipe.lines.clone(),
        steps: recipe.steps.clone(),
    }
}

fn facts(me: &Me, recipe: &Recipe) -> Vec<Fact> {
    let mut facts = vec![
        Fact::new("Makes", recipe.product.name.clone()).link(recipe.product.id.path()),
        Fact::new("Kind", recipe.kind.word()),
    ];
    if let Some(brine) = recipe.brine {
        facts.push(Fact::new("Brine", format!("{} of the meat", plain(brine))));
    }
    facts.extend(recipe.falls_under.map(|product| Fact::new("Falls under", product.word())));
    facts.extend(recipe.way.map(|way| Fact::new("Cured", way.word())));
    facts.extend(recipe.pump.map(|pump| Fact::new("Pumped in", format!("{} of green weight", plain(pump)))));
    facts.extend(
        recipe.pick_up.map(|share| Fact::new("Picked up", format!("{} of green weight", plain(share)))),
    );
    facts.extend(recipe.moisture.map(|share| Fact::new("Water in the meat", plain(share))));
    if let Some(loss) = recipe.target_loss {
        facts.push(Fact::new(
            "Loss aimed at",
            format!("{} of green weight, a guide and not proof of safety", plain(loss)),
        ));
    }
    if let Some(days) = recipe.weigh_every {
        facts.push(Fact::new("Weigh in", every(days)));
    }
    facts.push(Fact::new("Written", ledger::day(me, recipe.written_at)));
    facts
}

/// "every 7 days"
pub fn every(days: u16) -> String {
    if days == 1 { "every day".into() } else { format!("every {days} days") }
}

fn rows(recipe: &Recipe, proportions: &crate::recipes::Proportions, unknown: &[String]) -> Vec<Row> {
    let count = recipe.lines.len();
    let meat = proportions.percents(Of::MeatBlock, count);
    let whole = proportions.percents(Of::Whole, count);
    let brine = proportions.percents(Of::Brine, count);
    let said = |of: &[Option<crate::measure::Percent>], place: usize| {
        of.get(place).copied().flatten().map_or_else(String::new, |percent| percent.text_places(2))
    };
    let lines = recipe.lines.iter().enumerate().map(|(place, line)| Row {
        role: line.role.word(),
        name: line.item.name.clone(),
        stated: if line.role == Role::Casing {
            "counted".to_owned()
        } else {
            format!("{} {}", plain(line.percent), line.per.words())
        },
        of_meat: said(&meat, place),
        of_whole: said(&whole, place),
        of_brine: said(&brine, place),
        tolerance: if line.role.is_meat() || line.role == Role::Casing {
            String::new()
        } else {
            format!("±\u{a0}{}", plain(line.tolerance))
        },
        unknown: line.role == Role::Cure && unknown.contains(&line.item.name),
    });
    lines.collect()
}

fn step_row(step: &crate::recipes::RecipeStep) -> StepRow {
    StepRow { stage: Stage::word(step.stage), lasts: lasts(step.hours), note: step.note.clone() }
}

/// "14 days", "36 h"
pub fn lasts(hours: u32) -> String {
    match hours {
        24 => "1 day".into(),
        _ if hours.is_multiple_of(24) => format!("{} days", hours / 24),
        _ => format!("{hours}\u{a0}h"),
    }
}
