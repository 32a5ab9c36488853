//! `/plan/round`: what the plans ask for now, and a round through the rooms on one page: a value for each, signed together.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::Duration;
use uuid::Uuid;

use crate::checks;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::InstrumentId;
use crate::plan::due::{self, Due};
use crate::plan::entry::Asks;
use crate::rights::Right;
use crate::rights::needs::Check;
use crate::setup::{self, entry::Measures};
use crate::web::parts::{Choice, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Reader, Signer, fresh_id, ledger, page};

/// What becomes due within this time is on the round already.
const SOON: Duration = Duration::hours(2);

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct RoundForm {
    /// The check and what it is of, for each row.
    row: Vec<String>,
    value: Vec<String>,
    instrument: Vec<String>,
    when: String,
}

/// A row of the round.
struct Row {
    n: usize,
    key: String,
    what: String,
    asked: String,
    note: String,
    state: Mark,
    value: String,
    instrument: String,
    instruments: Vec<Choice>,
    errors: Errors,
}

impl Row {
    fn id(&self, field: &str) -> String {
        format!("f-{field}-{}", self.n)
    }
}

/// A check that has a page of its own, or is not due yet.
struct Other {
    href: String,
    what: String,
    note: String,
    state: Mark,
}

#[derive(Template)]
#[template(path = "plan/round.html")]
struct RoundPage {
    frame: Frame,
    form_id: Uuid,
    note_id: Uuid,
    form: RoundForm,
    errors: Errors,
    rows: Vec<Row>,
    answers: Vec<Other>,
    later: Vec<Other>,
    missed: Vec<String>,
    any_plan: bool,
    may_check: bool,
}

/// The check and what it is of, as a row of the form says it.
fn key(due: &Due) -> String {
    format!("{} {} {}", due.check.id, due.on.subject.on().id(), if due.at_end { "end" } else { "" })
}

/// GET `/plan/round`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, RoundForm::default(), Vec::new(), Errors::default()).await
}

/// POST `/plan/round`: every value that was typed becomes a reading, all of them or none.
pub async fn sign(State(app): State<App>, me: Signer<Check>, form: Form<RoundForm>) -> Result<Response> {
    let mut wrong = Vec::new();
    match sign_round(&app, &me, &form, &mut wrong).await {
        Ok(()) => page::goto("/plan/round"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, wrong, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_round(
    app: &App,
    me: &Me,
    form: &Form<RoundForm>,
    wrong: &mut Vec<(String, Errors)>,
) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let when = read.when(&form.when);
    let when = read.finish(|| when)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, when)?).await? else { return Ok(()) };
    let all = due::due(&mut pen, &me.shop, me.now).await?;
    let mut taken = Vec::new();
    let mut errors = Errors::default();
    for (n, value) in form.value.iter().enumerate().filter(|(_, value)| !value.trim().is_empty()) {
        let row = form.row.get(n).map(String::as_str).unwrap_or_default();
        let Some(due) = all.iter().find(|due| key(due) == row) else {
            return Err(Refusal::of(
                "What is asked for has changed since this page was drawn. Look at it again.",
            )
            .into());
        };
        let Asks::Measured { quantity, .. } = &due.check.asks else { return Err(Error::NotFound) };
        let mut read = Reader::new(&me.shop);
        let value = checks::value(&mut read, "value", *quantity, value);
        let with = form.instrument.get(n).map(String::as_str).unwrap_or_default();
        let with = read.maybe::<InstrumentId>("instrument", with, "Choose what it was measured with.");
        match read.finish(|| Some((value?, with?))) {
            Ok((value, with)) => taken.push((due.on.subject.on(), value, with, due.at_end)),
            Err(own) => {
                for problem in own.iter() {
                    errors.push(Refusal::of(format!("{}: {}", what(due), problem.message)));
                }
                wrong.push((row.to_owned(), own));
            }
        }
    }
    if taken.is_empty() && errors.is_empty() {
        errors.push(Refusal::of("Type the values that were read."));
    }
    if !errors.is_empty() {
        return Err(errors.into());
    }
    for (on, value, with, end) in taken {
        checks::take(&mut pen, me, on, value, with, end).await?;
        app.after(&mut pen, me, on.into()).await?;
    }
    pen.commit().await
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Nothing {}

/// POST `/plan/missed`: what was missed and nothing is written of yet, written down; each opens its deviation.
pub async fn note(State(app): State<App>, me: Signer<Check>, form: Form<Nothing>) -> Result<Response> {
    match sign_missed(&app, &me, &form).await {
        Ok(()) => page::goto("/checks/deviations"),
        Err(Error::Form(errors)) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            ask(&app, &me, status, RoundForm::default(), Vec::new(), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_missed(app: &App, me: &Me, form: &Form<Nothing>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    if due::note(&mut pen, me, None, true).await? == 0 {
        return Err(Refusal::of("Nothing was missed that is not written down.").into());
    }
    pen.commit().await
}

/// "Coolers, cooler 1"
fn what(due: &Due) -> String {
    format!("{}, {}", due.check.name, due.on.subject.name())
}

fn state(me: &Me, due: &Due) -> Mark {
    if due.at_end {
        Mark::new("wait", "at the end of the stage")
    } else if due.stand.due_at < me.now {
        Mark::new("late", format!("late, due {}", ledger::lately(me, due.stand.due_at)))
    } else if due.stand.due_at <= me.now + SOON {
        Mark::new("due", format!("due {}", ledger::lately(me, due.stand.due_at)))
    } else {
        Mark::new("wait", format!("due {}", ledger::lately(me, due.stand.due_at)))
    }
}

fn by(due: &Due) -> String {
    let number = due.ccp.map(|n| format!("CCP {n}, ")).unwrap_or_default();
    format!("{number}{}, {}", due.plan, due.check.every.text())
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    form: RoundForm,
    wrong: Vec<(String, Errors)>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let all = due::due(&mut conn, &me.shop, me.now).await?;
    let instruments = setup::instruments(&mut conn).await?;
    let any_plan = !crate::plan::db::standing(&mut conn).await?.is_empty();
    let (now, later): (Vec<&Due>, Vec<&Due>) =
        all.iter().partition(|due| !due.at_end && due.stand.due_at <= me.now + SOON);
    let measured = |due: &&&Due| matches!(due.check.asks, Asks::Measured { .. });
    let rows = now.iter().filter(measured).enumerate().map(|(n, due)| {
        let key = key(due);
        let typed = form.row.iter().position(|row| *row == key);
        let of = |part: &[String]| typed.and_then(|at| part.get(at).cloned()).unwrap_or_default();
        Row {
            n: n + 1,
            what: what(due),
            asked: due.check.asked(me.shop.system),
            note: by(due),
            state: state(me, due),
            value: of(&form.value),
            instrument: of(&form.instrument),
            instruments: fitting(&instruments, due),
            errors: wrong.iter().find(|(row, _)| *row == key).map(|(_, own)| own.clone()).unwrap_or_default(),
            key,
        }
    });
    let other =
        |due: &&Due| Other { href: due.path(), what: what(due), note: by(due), state: state(me, due) };
    let missed =
        all.iter().flat_map(|due| due.stand.missed.iter().map(move |gap| (due, gap))).map(|(due, gap)| {
            let times = if gap.times == 1 { "once".to_owned() } else { format!("{} times", gap.times) };
            format!(
                "{}: {times} between {} and {}",
                what(due),
                ledger::lately(me, gap.from),
                ledger::lately(me, gap.until)
            )
        });
    let rows: Vec<Row> = rows.collect();
    let page = RoundPage {
        frame: Frame::new(app, me, Area::Checks),
        form_id: fresh_id(),
        note_id: fresh_id(),
        form: form.clone(),
        errors,
        answers: now.iter().filter(|due| !measured(due)).map(other).collect(),
        later: later.iter().map(other).collect(),
        missed: missed.collect(),
        rows,
        any_plan,
        may_check: me.may(Right::Check),
    };
    page::show(status, &page)
}

/// The instruments that measure what is asked.
fn fitting(instruments: &[setup::Instrument], due: &Due) -> Vec<Choice> {
    use checks::Quantity as Q;
    let Asks::Measured { quantity, .. } = &due.check.asks else { return Vec::new() };
    let fits = |measures: Measures| match quantity {
        Q::Temperature => measures == Measures::Temperature,
        Q::Humidity => measures == Measures::Humidity,
        Q::Ph => measures == Measures::Ph,
        Q::WaterActivity => measures == Measures::WaterActivity,
        Q::Chlorine | Q::MoistureToProtein => measures != Measures::Weight,
    };
    let all = instruments.iter().filter(|one| fits(one.measures));
    all.map(|one| Choice::new(one.id, one.name.clone())).collect()
}
