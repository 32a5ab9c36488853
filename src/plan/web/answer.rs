//! `/plan/answer`: a check that is answered and not measured, item by item.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use crate::checks;
use crate::deviations::On;
use crate::error::{Error, Errors, Result};
use crate::ids::{DeviationId, PlannedCheckId};
use crate::plan::due::{self, Due};
use crate::plan::entry::{self, Asks, Item};
use crate::rights::Right;
use crate::rights::needs::Check;
use crate::web::parts::{Choice, Fact};
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Signer, fresh_id, page};

/// Which check, of what.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    check: String,
    on: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct AnswerForm {
    check: String,
    on: String,
    /// "yes" or "no" for each item, under its number.
    item: Vec<String>,
    words: Vec<String>,
    when: String,
}

struct Row {
    n: usize,
    name: String,
    answer: String,
    words: String,
}

impl Row {
    fn id(&self, field: &str) -> String {
        format!("f-{field}-{}", self.n)
    }
}

#[derive(Template)]
#[template(path = "plan/answer.html")]
struct AnswerPage {
    frame: Frame,
    form_id: Uuid,
    form: AnswerForm,
    errors: Errors,
    none: Errors,
    title: String,
    facts: Vec<Fact>,
    question: String,
    rows: Vec<Row>,
    answers: Vec<Choice>,
    may_check: bool,
}

/// GET `/plan/answer`
pub async fn page(State(app): State<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let form = AnswerForm { check: asked.check, on: asked.on, ..AnswerForm::default() };
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/plan/answer`
pub async fn sign(State(app): State<App>, me: Signer<Check>, form: Form<AnswerForm>) -> Result<Response> {
    match sign_answer(&app, &me, &form).await {
        Ok(Some(deviation)) => page::goto(&deviation.path()),
        Ok(None) => page::goto("/plan/round"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

/// The check among those that are asked for.
async fn find(conn: &mut sqlx::PgConnection, me: &Me, form: &AnswerForm) -> Result<Due> {
    let (check, on) = (form.check.parse::<PlannedCheckId>(), Uuid::parse_str(form.on.trim()));
    let (Ok(check), Ok(on)) = (check, on) else { return Err(Error::NotFound) };
    let all = due::of(conn, &me.shop, me.now, Some(on)).await?;
    let found = all.into_iter().find(|due| due.check.id == check);
    found.filter(|due| matches!(due.check.asks, Asks::Answered { .. })).ok_or(Error::NotFound)
}

/// What is asked, item by item; one without a name where there are no items.
fn items(due: &Due) -> (String, Vec<String>) {
    match &due.check.asks {
        Asks::Answered { question, items } if !items.is_empty() => (question.clone(), items.clone()),
        Asks::Answered { question, .. } => (question.clone(), vec![String::new()]),
        _ => (String::new(), vec![]),
    }
}

fn read(me: &Me, form: &AnswerForm, names: &[String]) -> Result<(Vec<Item>, Option<OffsetDateTime>), Errors> {
    let mut read = Reader::new(&me.shop);
    let when = read.when(&form.when);
    let mut items = Vec::new();
    for (n, name) in names.iter().enumerate() {
        let of = |part: &[String]| part.get(n).cloned().unwrap_or_default();
        let words = read.note_or_empty("words", &of(&form.words));
        let yes = match of(&form.item).as_str() {
            "yes" => Some(true),
            "no" => Some(false),
            _ => {
                let what = if name.is_empty() {
                    "Answer yes or no.".into()
                } else {
                    format!("Answer yes or no for \"{name}\".")
                };
                read.refuse("item", what);
                None
            }
        };
        if let (Some(words), Some(yes)) = (words, yes) {
            items.push(Item { name: name.clone(), yes, words });
        }
    }
    read.finish(|| Some((items, when?)))
}

async fn sign_answer(app: &App, me: &Me, form: &Form<AnswerForm>) -> Result<Option<DeviationId>> {
    let due = find(&mut *app.db().await?, me, form).await?;
    let (items, when) = read(me, form, &items(&due).1)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, when)?).await? else { return Ok(None) };
    let at = pen.next();
    let on = due.on.subject.on();
    let lots = match on {
        _ if items.iter().all(|item| item.yes) => vec![],
        On::Place(place) => checks::lots_of_place(&mut pen, place, at.happened_at).await?,
        On::Batch(batch) => checks::lots_of_batch(&mut pen, batch).await?,
        On::Lot(_) => vec![],
    };
    let answered = entry::answer(&due.check, due.on.subject.clone(), items, lots, at.id)?;
    let deviation = answered.deviation.as_ref().map(|opened| opened.deviation);
    pen.append(answered).await?;
    due::note(&mut pen, me, Some(on.id()), false).await?;
    pen.commit().await?;
    Ok(deviation)
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: AnswerForm, errors: Errors) -> Result<Response> {
    let due = find(&mut *app.db().await?, me, &form).await?;
    let (question, names) = items(&due);
    let of = |part: &[String], n: usize| part.get(n).cloned().unwrap_or_default();
    let rows = names.into_iter().enumerate().map(|(n, name)| Row {
        n: n + 1,
        name,
        answer: of(&form.item, n),
        words: of(&form.words, n),
    });
    let facts = vec![
        Fact::new("By", format!("{}, {}", due.plan, due.check.every.text())),
        Fact::new("How", due.check.how.clone()),
        Fact::new("When it is not in order", due.check.action.clone()),
        Fact::new("Source", due.check.source.clone()),
    ];
    let page = AnswerPage {
        frame: Frame::new(app, me, Area::Checks),
        form_id: fresh_id(),
        errors,
        none: Errors::default(),
        title: format!("{}, {}", due.check.name, due.on.subject.name()),
        facts: facts.into_iter().filter(|fact| !fact.value.is_empty()).collect(),
        question,
        rows: rows.collect(),
        answers: vec![Choice::new("yes", "yes, in order"), Choice::new("no", "no")],
        may_check: me.may(Right::Check),
        form,
    };
    page::show(status, &page)
}
