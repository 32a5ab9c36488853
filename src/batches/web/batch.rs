//! `/batches/{id}`: a batch, with the sheet of what is next.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;

use super::tables::{self, IngredientRow, MeatRow, PieceRow};
use super::{cure, ingredients, meat, numbers, stage, stuff};
use crate::batches::db;
use crate::batches::entry::{self, Actual, Next, Standing, early, next, next_step};
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::BatchId;
use crate::limits::{self, HeldRow};
use crate::recipes::{NITRITE, Stage, lasts};
use crate::rights::Right;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Fact, Figure, Line, State as Mark};
use crate::web::{App, Area, Frame, Me, Path, Query, Topic, page};

/// How many lines of the book the page shows.
const LINES: i64 = 200;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Which {
    /// "meat", "weigh", "lay-on", "stuff" or "stage"; "release" leads to the page of its own; empty for what is next.
    act: String,
    line: String,
}

/// A sheet that was refused, with what was typed on it.
pub enum Filled {
    Meat(meat::MeatForm),
    Weigh(ingredients::WeighForm),
    LayOn(cure::LayOnForm),
    Stuff(stuff::StuffForm),
    Stage(stage::StageForm),
}

struct StepRow {
    stage: &'static str,
    lasts: String,
    /// "24 Nov 09:40, chamber 1"; empty while it is to come.
    was: String,
    note: String,
}

/// Another thing that can be signed now.
struct Other {
    href: String,
    words: &'static str,
}

#[allow(clippy::struct_excessive_bools, reason = "what the template asks is yes or no")]
#[derive(Template)]
#[template(path = "batches/batch.html")]
struct BatchPage {
    frame: Frame,
    id: BatchId,
    code: String,
    product: String,
    for_sale: bool,
    beneath: String,
    time: Option<Mark>,
    figures: Vec<Figure>,
    facts: Vec<Fact>,
    sheet: String,
    /// What it waits for, where nothing is to be signed; else empty.
    waits: String,
    /// Whether it dries, and so is weighed meanwhile.
    weigh_in: bool,
    /// Where its pieces are let go, while that is next; else empty.
    release: String,
    others: Vec<Other>,
    meat: Vec<MeatRow>,
    ingredients: Vec<IngredientRow>,
    pieces: Vec<PieceRow>,
    whole: bool,
    steps: Vec<StepRow>,
    /// What later rooms add, each a section of HTML.
    panels: Vec<String>,
    lines: Vec<Line>,
    held: Vec<HeldRow>,
    none_held: &'static str,
    not_said: &'static str,
    unknown: bool,
    cures: bool,
    nitrite: &'static str,
    may_cure: bool,
}

/// GET `/batches/{id}`
pub async fn page(
    State(app): State<App>,
    me: Me,
    Path(id): Path<BatchId>,
    Query(which): Query<Which>,
) -> Result<Response> {
    if which.act == "release" {
        return page::goto(&release_path(id));
    }
    let mut conn = app.db().await?;
    let batch = db::standing(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let act = chosen(&which).unwrap_or_else(|| unasked(&me, &batch));
    draw(&app, &me, &mut conn, StatusCode::OK, &batch, act, None, Errors::default()).await
}

/// Where the pieces of a batch are let go, criterion by criterion.
fn release_path(id: BatchId) -> String {
    format!("/release/{id}")
}

/// What is next; nothing as long as the stage still has time to go.
fn unasked(me: &Me, batch: &Standing) -> Next {
    let next = next(batch, me.shop.small_division);
    let waits = matches!(next, Next::Stage | Next::Release) && early(batch, me.now).is_some();
    if waits { Next::Nothing } else { next }
}

fn chosen(which: &Which) -> Option<Next> {
    Some(match which.act.as_str() {
        "meat" => Next::TakeMeat,
        "weigh" => Next::Weigh(which.line.parse().ok()?),
        "lay-on" => Next::LayOn,
        "stuff" => Next::Stuff,
        "stage" => Next::Stage,
        _ => return None,
    })
}

/// Draws the page again with the sheet that was refused.
pub async fn again(app: &App, me: &Me, id: BatchId, filled: Filled, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let batch = db::standing(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let act = match &filled {
        Filled::Meat(_) => Next::TakeMeat,
        Filled::Weigh(form) => Next::Weigh(form.number()),
        Filled::LayOn(_) => Next::LayOn,
        Filled::Stuff(_) => Next::Stuff,
        Filled::Stage(_) => Next::Stage,
    };
    draw(app, me, &mut conn, StatusCode::UNPROCESSABLE_ENTITY, &batch, act, Some(filled), errors).await
}

/// The one place that draws this page.
#[allow(
    clippy::too_many_arguments,
    reason = "the page, whose it is, what is next on it, and what was refused"
)]
async fn draw(
    app: &App,
    me: &Me,
    conn: &mut PgConnection,
    status: StatusCode,
    batch: &Standing,
    act: Next,
    filled: Option<Filled>,
    errors: Errors,
) -> Result<Response> {
    let id = batch.batch;
    let weighed = db::ingredients(conn, id).await?;
    let taken = db::meat(conn, id).await?;
    let stages = db::stages(conn, id).await?;
    let entries = book::db::about(conn, id.0, LINES).await?;
    let actual = entry::actual(batch, batch.laid_on);
    let held = numbers::held(batch, &actual);
    let style = Style { days: true, strike: me.may(Right::Cure), ..Style::default() };
    let mut lines = ledger::lines(&app.book.kinds, me, &entries, style)?;
    let reviews = db::reviews(conn, id).await?;
    ledger::looked_over(&mut lines, ledger::shown(&entries), &reviews, entry::is_record);
    let page = BatchPage {
        frame: Frame::new(app, me, Area::Batches),
        id,
        code: batch.code.to_string(),
        product: batch.product.name.clone(),
        for_sale: batch.stage == Stage::Released,
        beneath: beneath(me, batch),
        time: time_left(me, batch),
        figures: numbers::figures(&me.shop, batch, &actual),
        facts: facts(me, batch, &actual),
        sheet: sheet(me, conn, batch, act, filled, errors).await?,
        waits: if act == Next::Nothing { waits(me, batch) } else { String::new() },
        weigh_in: batch.stage.is_of_pieces() && me.may(Right::Hang),
        release: if act == Next::Release { release_path(id) } else { String::new() },
        others: others(me, batch, act),
        meat: tables::meat_rows(&me.shop, batch, &taken, |_| String::new()),
        ingredients: tables::ingredient_rows(
            &me.shop,
            batch,
            &weighed,
            me.may(Right::Cure) && in_the_making(batch),
        ),
        pieces: tables::piece_rows(&me.shop, batch),
        whole: batch.kind.is_whole_muscle(),
        steps: steps(me, batch, &stages),
        panels: app.parts(me, Topic::Batch(id)).await?,
        lines,
        none_held: numbers::none_held(batch, &held),
        held,
        not_said: limits::NOT_SAID,
        unknown: actual == Actual::Unknown,
        cures: actual != Actual::NoCure,
        nitrite: NITRITE,
        may_cure: me.may(Right::Cure),
    };
    page::show(status, &page)
}

/// The sheet of an act; empty for who may not sign it, and where nothing is left to sign.
async fn sheet(
    me: &Me,
    conn: &mut PgConnection,
    batch: &Standing,
    act: Next,
    filled: Option<Filled>,
    errors: Errors,
) -> Result<String> {
    if !me.may(Right::Cure) {
        return Ok(String::new());
    }
    match (act, filled) {
        (Next::TakeMeat, Some(Filled::Meat(form))) => meat::sheet(me, conn, batch, Some(form), errors).await,
        (Next::TakeMeat, _) => meat::sheet(me, conn, batch, None, errors).await,
        (Next::Weigh(_), Some(Filled::Weigh(form))) => {
            ingredients::sheet(me, conn, batch, form.number(), Some(form), errors).await
        }
        (Next::Weigh(n), _) => ingredients::sheet(me, conn, batch, n, None, errors).await,
        (Next::LayOn, Some(Filled::LayOn(form))) => cure::sheet(me, batch, form, &errors),
        (Next::LayOn, _) => cure::sheet(me, batch, cure::LayOnForm::default(), &errors),
        (Next::Stuff, Some(Filled::Stuff(form))) => stuff::sheet(me, conn, batch, Some(form), errors).await,
        (Next::Stuff, _) => stuff::sheet(me, conn, batch, None, errors).await,
        (Next::Stage, Some(Filled::Stage(form))) => stage::sheet(me, conn, batch, Some(form), errors).await,
        (Next::Stage, _) => stage::sheet(me, conn, batch, None, errors).await,
        (Next::Release | Next::Nothing, _) => Ok(String::new()),
    }
}

fn beneath(me: &Me, batch: &Standing) -> String {
    let place = batch.place.as_ref().map_or_else(String::new, |place| format!(", in {}", place.name));
    format!(
        "{}, version {}, {}{place} since {} {}",
        batch.recipe.name,
        batch.version,
        if batch.stage == Stage::Making { "in the making" } else { batch.stage.word() },
        ledger::day(me, batch.stage_at),
        ledger::time(me, batch.stage_at)
    )
}

/// How much of its time the stage still has.
fn time_left(me: &Me, batch: &Standing) -> Option<Mark> {
    if matches!(batch.stage, Stage::Making | Stage::Released) {
        return None;
    }
    let then = next_step(&batch.steps, &batch.stages)
        .and_then(|next| batch.steps.get(next))
        .map_or_else(String::new, |step| format!(", then {}", step.stage.word()));
    Some(match early(batch, me.now) {
        Some(short) => {
            let over = me.now + short;
            Mark::new("wait", format!("until {} {}{then}", ledger::day(me, over), ledger::time(me, over)))
        }
        None => Mark::new("due", format!("the stage has had its time{then}")),
    })
}

/// "Drying lasts until 23 Jan 09:40."
fn waits(me: &Me, batch: &Standing) -> String {
    early(batch, me.now).map_or_else(String::new, |short| {
        let over = me.now + short;
        let until = ledger::moment(me, over);
        format!("The stage {} lasts until {until}. What ends it sooner has a reason.", batch.stage.word())
    })
}

fn facts(me: &Me, batch: &Standing, actual: &Actual) -> Vec<Fact> {
    let recipe = format!("{}?version={}", batch.recipe.id.path(), batch.version);
    let mut facts = vec![
        Fact::new("Recipe", format!("{}, version {}", batch.recipe.name, batch.version)).link(recipe),
        Fact::new("Kind", batch.kind.word()),
        Fact::new("Begun", ledger::moment(me, batch.begun_at)),
    ];
    if let Some(loss) = batch.target_loss {
        facts.push(Fact::new("Loss aimed at", format!("{loss}\u{a0}% of green weight")));
    }
    facts.extend(numbers::reckoned(actual));
    facts
}

/// Whether its weighings can still be struck and made again: nothing was laid on or stuffed yet.
fn in_the_making(batch: &Standing) -> bool {
    !batch.applied && batch.pieces.iter().all(|_| batch.kind.is_whole_muscle()) && !batch.stage.is_of_pieces()
}

/// What else can be signed, besides the sheet that is open.
fn others(me: &Me, batch: &Standing, act: Next) -> Vec<Other> {
    let path = batch.batch.path();
    let whole = batch.kind.is_whole_muscle();
    let open = !batch.stage.is_of_pieces() && batch.stage != Stage::Released;
    let made = if whole { batch.applied } else { !batch.pieces.is_empty() };
    let all = [
        (Next::TakeMeat, "meat", if whole { "Take a muscle" } else { "Take meat" }, open && !made),
        (Next::LayOn, "lay-on", "Lay the cure on", open && whole && batch.mix.grams.is_positive()),
        (Next::Stuff, "stuff", "Stuff the mix", open && !whole && batch.mix.grams.is_positive()),
        (Next::Stage, "stage", "Put into a stage", batch.has_meat() && batch.stage != Stage::Released),
    ];
    let mut others: Vec<Other> = all
        .into_iter()
        .filter(|(of, _, _, can)| *can && *of != act && me.may(Right::Cure))
        .map(|(_, word, words, _)| Other { href: format!("{path}?act={word}"), words })
        .collect();
    let can_release = matches!(batch.stage, Stage::Drying | Stage::Holding);
    if can_release && act != Next::Release {
        others.push(Other { href: release_path(batch.batch), words: "What it needs to be released" });
    }
    others
}

/// The recipe's steps with the times at which they really began.
fn steps(me: &Me, batch: &Standing, stages: &[db::StageRow]) -> Vec<StepRow> {
    let was = |row: &db::StageRow| {
        let place = row.place_name.as_ref().map_or_else(String::new, |place| format!(", {place}"));
        format!("{} {}{place}", ledger::day(me, row.at), ledger::time(me, row.at))
    };
    let mut left: Vec<&db::StageRow> = stages.iter().filter(|row| row.stage != Stage::Released).collect();
    let mut rows = Vec::new();
    for step in &batch.steps {
        let found = left.iter().position(|row| row.stage == step.stage).map(|at| left.remove(at));
        rows.push(StepRow {
            stage: step.stage.word(),
            lasts: lasts(step.hours),
            was: found.map(was).unwrap_or_default(),
            note: step.note.clone(),
        });
    }
    rows.extend(left.into_iter().map(|row| StepRow {
        stage: row.stage.word(),
        lasts: "not planned".into(),
        was: was(row),
        note: String::new(),
    }));
    rows
}
