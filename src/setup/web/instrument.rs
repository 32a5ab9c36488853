//! `/setup/instruments/{id}` and `/setup/instruments/new`: one instrument.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db::{self, Instrument};
use super::super::entry::{InstrumentWritten, Measures};
use super::tick;
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::InstrumentId;
use crate::rights::{Right, needs::Keep};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

/// The longest time from one calibration to the next: five years, in days.
const LONGEST: u16 = 1_826;

/// How many lines about the instrument the page shows.
const LINES: i64 = 50;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct InstrumentForm {
    name: String,
    measures: String,
    calibrate_every: String,
    retired: String,
}

impl InstrumentForm {
    fn of(one: &Instrument) -> Self {
        Self {
            name: one.name.clone(),
            measures: one.measures.word().to_owned(),
            calibrate_every: one.calibrate_every.map(|days| days.to_string()).unwrap_or_default(),
            retired: tick(one.retired),
        }
    }

    fn read(&self, instrument: InstrumentId, shop: &Shop) -> Result<InstrumentWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the name, as it stands on the instrument.");
        let measures = read.value("measures", &self.measures, "Choose what it measures.");
        let calibrate_every = if self.calibrate_every.trim().is_empty() {
            Some(None)
        } else {
            read.count("calibrate_every", &self.calibrate_every, 1, LONGEST).map(Some)
        };
        let retired = self.retired == "yes";
        read.finish(|| {
            Some(InstrumentWritten {
                instrument,
                name: name?,
                measures: measures?,
                calibrate_every: calibrate_every?,
                retired,
            })
        })
    }
}

#[derive(Template)]
#[template(path = "setup/instrument.html")]
struct InstrumentPage {
    frame: Frame,
    /// Where the form goes.
    action: String,
    /// Where it is calibrated; empty for a new one.
    calibration: String,
    /// Empty for a new one.
    name: String,
    form_id: Uuid,
    form: InstrumentForm,
    errors: Errors,
    measures: Vec<Choice>,
    lines: Vec<Line>,
    may_keep: bool,
}

/// GET `/setup/instruments/new`
pub async fn fresh(State(app): State<App>, me: Signer<Keep>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, InstrumentForm::default(), Errors::default()).await
}

/// GET `/setup/instruments/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<InstrumentId>) -> Result<Response> {
    let one = db::any_instrument(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let form = InstrumentForm::of(&one);
    ask(&app, &me, StatusCode::OK, Some(one), form, Errors::default()).await
}

/// POST `/setup/instruments`
pub async fn add(State(app): State<App>, me: Signer<Keep>, form: Form<InstrumentForm>) -> Result<Response> {
    let done = match form.once.id() {
        Ok(id) => sign(&app, &me, InstrumentId::made_by(id), &form).await,
        Err(refusal) => Err(refusal.into()),
    };
    answer(&app, &me, None, form.fields, done).await
}

/// POST `/setup/instruments/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<InstrumentId>,
    form: Form<InstrumentForm>,
) -> Result<Response> {
    let one = db::any_instrument(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let done = sign(&app, &me, id, &form).await;
    answer(&app, &me, Some(one), form.fields, done).await
}

async fn sign(app: &App, me: &Me, id: InstrumentId, form: &Form<InstrumentForm>) -> Result<InstrumentId> {
    let written = form.read(id, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(id) };
    pen.append(written).await?;
    pen.commit().await?;
    Ok(id)
}

async fn answer(
    app: &App,
    me: &Me,
    one: Option<Instrument>,
    form: InstrumentForm,
    done: Result<InstrumentId>,
) -> Result<Response> {
    match done {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, one, form, errors).await,
        Err(other) => Err(other),
    }
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    one: Option<Instrument>,
    form: InstrumentForm,
    errors: Errors,
) -> Result<Response> {
    let lines = match &one {
        Some(one) => {
            let entries = book::db::about(&mut *app.db().await?, one.id.0, LINES).await?;
            ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?
        }
        None => vec![],
    };
    let page = InstrumentPage {
        frame: Frame::new(app, me, Area::Setup),
        action: one.as_ref().map_or_else(|| "/setup/instruments".to_owned(), |one| one.id.path()),
        calibration: one.as_ref().map(|one| format!("/calibration/{}", one.id)).unwrap_or_default(),
        name: one.map(|one| one.name).unwrap_or_default(),
        form_id: fresh_id(),
        form,
        errors,
        measures: Measures::ALL.into_iter().map(|one| Choice::new(one.word(), one.label())).collect(),
        lines,
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
