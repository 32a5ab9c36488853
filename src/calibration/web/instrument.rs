//! `/calibration/{instrument}`: hold one instrument against what is known, and see what rests on it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db::{self, Covered};
use super::super::entry;
use super::form::{CalibrationForm, salts};
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::{DeviationId, InstrumentId};
use crate::rights::Right;
use crate::rights::needs::Check;
use crate::setup::Instrument;
use crate::setup::entry::Measures;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, Topic, fresh_id, page};

/// How many calibrations the page shows.
const LINES: i64 = 60;

struct LotRow {
    href: String,
    code: String,
    name: String,
    weight: String,
    place: String,
    state: Mark,
}

/// What the last failure put in question.
struct Question {
    /// Whether it was decided already.
    closed: bool,
    /// When the instrument last passed; empty where it never did.
    since: String,
    until: String,
    deviation: String,
    lines: Vec<Line>,
    lots: Vec<LotRow>,
}

#[derive(Template)]
#[template(path = "calibration/instrument.html")]
struct InstrumentPage {
    frame: Frame,
    id: InstrumentId,
    name: String,
    measures: &'static str,
    /// `temperature`, `weight` …: which fields the form has.
    sort: &'static str,
    state: Mark,
    form_id: Uuid,
    form: CalibrationForm,
    errors: Errors,
    ways: Vec<Choice>,
    scales: Vec<Choice>,
    salts: Vec<Choice>,
    unit: String,
    question: Option<Question>,
    lines: Vec<Line>,
    /// What later rooms add, each a section of HTML.
    parts: Vec<String>,
    may_check: bool,
}

/// GET `/calibration/{instrument}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<InstrumentId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/calibration/{instrument}`
pub async fn record(
    State(app): State<App>,
    me: Signer<Check>,
    Path(id): Path<InstrumentId>,
    form: Form<CalibrationForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&format!("/calibration/{id}")),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: InstrumentId, form: &Form<CalibrationForm>) -> Result<()> {
    let instrument = stands(app, id).await?;
    let typed = form.read(instrument.measures, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let next = pen.next();
    let (at, entry) = (next.happened_at, next.id);
    let flagged = db::flagged(&mut pen, id, at).await?;
    let (named, measures) = (instrument.named(), instrument.measures);
    pen.append(entry::record(named, measures, typed.points, typed.note, flagged, entry)?).await?;
    pen.commit().await
}

async fn stands(app: &App, id: InstrumentId) -> Result<Instrument> {
    crate::setup::any_instrument(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: InstrumentId,
    form: Option<CalibrationForm>,
    errors: Errors,
) -> Result<Response> {
    let instrument = stands(app, id).await?;
    let mut conn = app.db().await?;
    let due = db::due(&mut conn).await?.into_iter().find(|due| due.instrument.id == id);
    let latest = db::latest(&mut conn, id, LINES).await?;
    let mut own = book::db::these(&mut conn, &latest).await?;
    own.reverse();
    let page = InstrumentPage {
        frame: Frame::new(app, me, Area::Checks),
        id,
        measures: instrument.measures.label(),
        sort: instrument.measures.word(),
        state: due.map_or_else(|| Mark::new("gone", "no longer used"), |due| super::index::state(me, &due)),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| CalibrationForm::fresh(instrument.measures, &me.shop)),
        errors,
        ways: vec![
            Choice::new("ice", "melting ice").note("crushed, with a little water, stirred; wait 30 s"),
            Choice::new("boiling", "boiling water").note("at the shop's height above the sea"),
        ],
        scales: vec![Choice::new("c", "°C"), Choice::new("f", "°F alone")],
        salts: salts(),
        unit: unit(me, instrument.measures),
        question: question(app, me, id).await?,
        lines: ledger::lines(
            &app.book.kinds,
            me,
            &own,
            Style { days: true, strike: true, ..Style::default() },
        )?,
        parts: app.parts(me, Topic::Instrument(id)).await?,
        may_check: me.may(Right::Check) && !instrument.retired,
        name: instrument.name,
    };
    page::show(status, &page)
}

fn unit(me: &Me, measures: Measures) -> String {
    match measures {
        Measures::Temperature => me.shop.temperature_unit().symbol().to_owned(),
        Measures::Weight => "g".to_owned(),
        Measures::Humidity => "%RH".to_owned(),
        Measures::Ph | Measures::WaterActivity | Measures::Other => String::new(),
    }
}

/// What the last failure puts in question, with its lots as they stand now: also what was written down only after it.
async fn question(app: &App, me: &Me, id: InstrumentId) -> Result<Option<Question>> {
    let mut conn = app.db().await?;
    let Some(failure) = db::in_question(&mut conn, id).await? else { return Ok(None) };
    let flagged = db::flagged(&mut conn, id, failure.at).await?;
    let entries = book::db::these(&mut conn, &flagged.lines).await?;
    let lots = db::lots(&mut conn, &flagged.lines).await?;
    Ok(Some(Question {
        closed: failure.closed,
        since: flagged.passed_before.map(|at| ledger::moment(me, at)).unwrap_or_default(),
        until: ledger::moment(me, failure.at),
        deviation: DeviationId(failure.deviation).path(),
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
        lots: lots.into_iter().map(|lot| row(me, lot)).collect(),
    }))
}

fn row(me: &Me, lot: Covered) -> LotRow {
    let state = match (lot.grams.is_positive(), lot.held) {
        (false, _) => Mark::new("gone", "nothing left here"),
        (true, true) => Mark::new("held", "on hold"),
        (true, false) => Mark::new("met", "hold lifted"),
    };
    LotRow {
        href: lot.lot.path(),
        code: lot.code.to_string(),
        name: lot.item_name,
        weight: me.shop.weight(lot.grams),
        place: lot.place.unwrap_or_default(),
        state,
    }
}
