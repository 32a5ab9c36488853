//! `/entries/{seq}/strike`: cancelling a line by a later one, with the reason.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use crate::book::{self, Seq};
use crate::error::{Error, Errors, Result};
use crate::web::ledger::{self, Style};
use crate::web::parts::Line;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Touched, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct StrikeForm {
    reason: String,
}

#[derive(Template)]
#[template(path = "entries/strike.html")]
struct StrikePage {
    frame: Frame,
    seq: Seq,
    form_id: Uuid,
    form: StrikeForm,
    errors: Errors,
    lines: Vec<Line>,
}

/// GET `/entries/{seq}/strike`
pub async fn page(State(app): State<App>, me: Me, Path(seq): Path<i64>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, Seq(seq), StrikeForm::default(), Errors::default()).await
}

/// POST `/entries/{seq}/strike`
pub async fn strike(
    State(app): State<App>,
    me: Me,
    Path(seq): Path<i64>,
    form: Form<StrikeForm>,
) -> Result<Response> {
    match sign(&app, &me, Seq(seq), &form).await {
        Ok(()) => page::goto(&format!("/entries/{seq}")),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, Seq(seq), form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, seq: Seq, form: &Form<StrikeForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let reason = read.line("reason", &form.reason, "Say why. The line stays readable, and so does this.");
    let reason = read.finish(|| reason)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let old = book::db::read_entry(&mut pen, seq).await?.ok_or(Error::NotFound)?;
    if old.struck.is_none() && !ledger::may_strike(me, &old) {
        return Err(Error::Forbidden);
    }
    book::strike::strike(&mut pen, seq, reason).await?;
    app.after(&mut pen, me, Touched::Struck(seq)).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    seq: Seq,
    form: StrikeForm,
    errors: Errors,
) -> Result<Response> {
    let entry = book::db::read_entry(&mut *app.db().await?, seq).await?.ok_or(Error::NotFound)?;
    if entry.struck.is_none() && !ledger::may_strike(me, &entry) {
        return Err(Error::Forbidden);
    }
    let line = ledger::line(&app.book.kinds, me, &entry, Style { days: true, ..Style::default() })?;
    let frame = Frame::new(app, me, Area::Elsewhere);
    let page = StrikePage { frame, seq, form_id: fresh_id(), form, errors, lines: vec![line] };
    page::show(status, &page)
}
