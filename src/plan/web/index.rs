//! `/plan`: the plans, the programmes beside them, and the starting plans.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::Duration;
use uuid::Uuid;

use super::CAUTION;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::PlanId;
use crate::measure::day_text;
use crate::plan::entry::{Document, PlanDrafted, Sort};
use crate::plan::{db, shipped};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::parts::{Choice, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Reader, Signer, fresh_id, page};

/// How long a signed version stands before it is reassessed at the latest (9 CFR 417.4(a)(3)).
pub const YEAR: Duration = Duration::days(365);

struct Row {
    href: String,
    name: String,
    note: String,
    state: Mark,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct BeginForm {
    /// The key of a starting plan, or "plan" or "programme" for an empty one.
    from: String,
    name: String,
}

#[derive(Template)]
#[template(path = "plan/index.html")]
struct IndexPage {
    frame: Frame,
    caution: &'static str,
    plans: Vec<Row>,
    programmes: Vec<Row>,
    form_id: Uuid,
    form: BeginForm,
    errors: Errors,
    starting: Vec<Choice>,
    may_keep: bool,
}

/// GET `/plan`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, BeginForm::default(), Errors::default()).await
}

/// POST `/plan`: takes up a starting plan, or begins an empty one.
pub async fn begin(State(app): State<App>, me: Signer<Keep>, form: Form<BeginForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(plan) => page::goto(&plan.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<BeginForm>) -> Result<PlanId> {
    let mut read = Reader::new(&me.shop);
    let name = read.line_or_empty("name", &form.name);
    let starting = shipped::shipped()?;
    let empty = form.from.parse::<Sort>().ok();
    let found = starting.into_iter().find(|one| one.key == form.from);
    if empty.is_none() && found.is_none() {
        read.refuse("from", "Choose what to begin with.");
    }
    if empty.is_some() && name.as_deref() == Some("") {
        read.refuse("name", "Give it a name.");
    }
    let name = read.finish(|| name)?;
    let plan = PlanId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(plan) };
    let (mut document, key) = match (found, empty) {
        (Some(one), _) => (one.document, one.key),
        (None, sort) => (blank(sort.unwrap_or(Sort::Plan)), String::new()),
    };
    if !name.is_empty() {
        document.name = name;
    }
    if !key.is_empty() && db::list(&mut pen).await?.iter().any(|known| known.shipped == key) {
        return Err(Refusal::at("from", "This starting plan was taken up already.").into());
    }
    pen.append(PlanDrafted { plan, document, shipped: key, changed: String::new() }).await?;
    pen.commit().await?;
    Ok(plan)
}

fn blank(sort: Sort) -> Document {
    Document {
        sort,
        name: String::new(),
        sanitation: false,
        describes: String::new(),
        intended_use: String::new(),
        materials: String::new(),
        training: String::new(),
        papers: String::new(),
        records: String::new(),
        covers: vec![],
        steps: vec![],
        checks: vec![],
    }
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: BeginForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let all = db::list(&mut conn).await?;
    let row = |one: &db::Listed| Row {
        href: one.id.path(),
        name: one.document.name.clone(),
        note: note(one),
        state: state(me, one),
    };
    let of = |sort: Sort| all.iter().filter(|one| one.document.sort == sort).map(row).collect();
    let taken = |key: &str| all.iter().any(|one| one.shipped == key);
    let starting = shipped::shipped()?
        .into_iter()
        .filter(|one| !taken(&one.key))
        .map(|one| Choice::new(one.key, one.document.name).note(one.document.sort.word()))
        .chain([Choice::new("plan", "an empty plan"), Choice::new("programme", "an empty programme")]);
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Checks),
        caution: CAUTION,
        plans: of(Sort::Plan),
        programmes: of(Sort::Programme),
        form_id: fresh_id(),
        form,
        errors,
        starting: starting.collect(),
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}

fn note(one: &db::Listed) -> String {
    let count = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    let (ccps, checks) = (one.document.ccps().count(), count(one.document.checks.len(), "check"));
    match one.document.sort {
        Sort::Plan => {
            let (steps, ccps) =
                (count(one.document.steps.len(), "step"), count(ccps, "critical control point"));
            format!("{steps}, {ccps}, {checks}")
        }
        Sort::Programme => checks,
    }
}

fn state(me: &Me, one: &db::Listed) -> Mark {
    let version = |words: &str| format!("version {}, {words}", one.version);
    match (one.version, one.draft, one.assessed_at) {
        (0, ..) | (_, _, None) => Mark::new("wait", "a draft, binds nobody yet"),
        (_, true, _) => Mark::new("due", version("with a draft of the next")),
        (_, false, Some(at)) if at + YEAR < me.now => Mark::new(
            "late",
            version(&format!("to be reassessed since {}", day_text(me.shop.date(at + YEAR)))),
        ),
        (_, false, Some(at)) => {
            Mark::new("met", version(&format!("assessed {}", day_text(me.shop.date(at)))))
        }
    }
}
