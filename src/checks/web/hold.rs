//! `/checks/holds/{lot}/{seq}`: one hold, and lifting it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use crate::book::{self, Seq};
use crate::deviations::{self, entry};
use crate::error::{Error, Errors, Result};
use crate::ids::LotId;
use crate::rights::Right;
use crate::rights::needs::Decide;
use crate::web::ledger::{self, Style};
use crate::web::parts::Line;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, page};

/// How many lines of the lot the page shows.
const LINES: i64 = 12;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct LiftForm {
    words: String,
}

#[derive(Template)]
#[template(path = "checks/hold.html")]
struct HoldPage {
    frame: Frame,
    path: String,
    form_id: Uuid,
    form: LiftForm,
    errors: Errors,
    code: String,
    href: String,
    reason: String,
    laid_href: String,
    lifted: bool,
    may_lift: bool,
    lines: Vec<Line>,
}

/// GET `/checks/holds/{lot}/{seq}`
pub async fn page(State(app): State<App>, me: Me, Path((lot, seq)): Path<(LotId, i64)>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, (lot, Seq(seq)), LiftForm::default(), Errors::default()).await
}

/// POST `/checks/holds/{lot}/{seq}`
pub async fn lift(
    State(app): State<App>,
    me: Signer<Decide>,
    Path((lot, seq)): Path<(LotId, i64)>,
    form: Form<LiftForm>,
) -> Result<Response> {
    let of = (lot, Seq(seq));
    match sign(&app, &me, of, &form).await {
        Ok(()) => page::goto("/checks/holds"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, of, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, (lot, seq): (LotId, Seq), form: &Form<LiftForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let words = read.note("words", &form.words, "Say why it may be used again.");
    let words = read.finish(|| words)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let hold = deviations::hold(&mut pen, lot, seq).await?.ok_or(Error::NotFound)?;
    pen.append(entry::lift(hold, words)?).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    (lot, seq): (LotId, Seq),
    form: LiftForm,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let hold = deviations::hold(&mut conn, lot, seq).await?.ok_or(Error::NotFound)?;
    let entries = book::db::about(&mut conn, lot.0, LINES).await?;
    let page = HoldPage {
        frame: Frame::new(app, me, Area::Checks),
        path: format!("/checks/holds/{lot}/{seq}"),
        form_id: fresh_id(),
        form,
        errors,
        code: hold.lot.name,
        href: lot.path(),
        reason: hold.reason,
        laid_href: format!("/entries/{seq}"),
        lifted: hold.lifted,
        may_lift: !hold.lifted && !hold.of_open_deviation && me.may(Right::Decide),
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
    };
    page::show(status, &page)
}
