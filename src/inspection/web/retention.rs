//! `/inspection/retention`: how long each class of records is kept, by whose word, and how many are past it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use super::super::db::{self, Counted, Said};
use super::super::entry::{self, Class, LONGEST, period};
use crate::error::{Error, Errors, Result};
use crate::measure::day_year;
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Reader, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct RetentionForm {
    class: String,
    months: String,
    reason: String,
}

struct Row {
    name: &'static str,
    holds: &'static str,
    period: String,
    source: String,
    records: String,
    oldest: String,
    past: String,
    before: String,
}

#[derive(Template)]
#[template(path = "inspection/retention.html")]
struct RetentionPage {
    frame: Frame,
    form_id: Uuid,
    form: RetentionForm,
    errors: Errors,
    rows: Vec<Row>,
    classes: Vec<Choice>,
    may_keep: bool,
}

/// GET `/inspection/retention`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, RetentionForm::default(), Errors::default()).await
}

/// POST `/inspection/retention`
pub async fn write(State(app): State<App>, me: Signer<Keep>, form: Form<RetentionForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/inspection/retention"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<RetentionForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let class: Option<Class> = read.value("class", &form.class, "Choose the class of records.");
    let months = read.count("months", &form.months, 1, LONGEST);
    let reason = read.line("reason", &form.reason, "Say why: what your plan or your regulator asks.");
    let (class, months, reason) = read.finish(|| Some((class?, months?, reason?)))?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(entry::keep(class, months, reason)?).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    form: RetentionForm,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let said = db::said(&mut conn).await?;
    let kept: Vec<(Class, u16)> = Class::ALL.into_iter().map(|class| (class, months(class, &said))).collect();
    let before: Vec<(Class, OffsetDateTime)> = kept
        .iter()
        .map(|(class, months)| {
            let day = class.cut_off(me.today(), *months);
            (*class, me.shop.zone.start_of(day.next_day().unwrap_or(day)))
        })
        .collect();
    let counted = db::counted(&mut conn, &before).await?;
    let page = RetentionPage {
        frame: Frame::new(app, me, Area::Elsewhere),
        form_id: fresh_id(),
        form,
        errors,
        rows: kept.iter().map(|(class, months)| row(me, *class, *months, &said, &counted)).collect(),
        classes: Class::ALL
            .into_iter()
            .map(|class| {
                Choice::new(class.word(), class.name()).note(format!("at least {}", period(class.months())))
            })
            .collect(),
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}

/// What the shop said, where that is longer than the law asks.
fn months(class: Class, said: &[Said]) -> u16 {
    let own = said.iter().find(|own| own.class == class).and_then(|own| u16::try_from(own.months).ok());
    own.unwrap_or_default().max(class.months())
}

fn row(me: &Me, class: Class, months: u16, said: &[Said], counted: &[Counted]) -> Row {
    let own = said.iter().find(|own| own.class == class).filter(|_| months > class.months());
    let counted = counted.iter().find(|of| of.class == class);
    let oldest = counted.and_then(|of| of.oldest).map(|at| day_year(me.shop.date(at)));
    Row {
        name: class.name(),
        holds: class.holds(),
        period: period(months),
        source: match own {
            Some(own) => format!("The shop's own: {}. {}", own.reason, class.source()),
            None => class.source().to_owned(),
        },
        records: counted.map_or(0, |of| of.all).to_string(),
        oldest: oldest.unwrap_or_else(|| "none".into()),
        past: counted.map_or(0, |of| of.past).to_string(),
        before: day_year(class.cut_off(me.today(), months)),
    }
}
