//! `/checks/limits/{id}`: one limit, its lines in the book, and changing it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db;
use super::limits::{LimitForm, holds_for, quantities};
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::LimitId;
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Fact, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 20;

#[derive(Template)]
#[template(path = "checks/limit.html")]
struct LimitPage {
    frame: Frame,
    id: LimitId,
    form_id: Uuid,
    form: LimitForm,
    errors: Errors,
    title: String,
    facts: Vec<Fact>,
    quantities: Vec<Choice>,
    holds_for: Vec<Choice>,
    lines: Vec<Line>,
    may_keep: bool,
}

/// GET `/checks/limits/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<LimitId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/checks/limits/{id}`
pub async fn write(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<LimitId>,
    form: Form<LimitForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto("/checks/limits"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: LimitId, form: &Form<LimitForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let before = db::limit(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let limit = form.write(me, &mut pen, id, (before.only, before.under)).await?;
    pen.append(limit).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: LimitId,
    form: Option<LimitForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let limit = db::limit(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let facts = vec![
        Fact::new(limit.quantity.name(), limit.band(me.shop.system)),
        Fact::new("Holds for", limit.held_for()),
        Fact::new("From", limit.source.clone()),
        Fact::new("In force", if limit.retired { "no longer" } else { "yes" }),
        Fact::new("Record", "readings held against it").link(format!("/checks/records?limit={id}")),
    ];
    let page = LimitPage {
        frame: Frame::new(app, me, Area::Checks),
        id,
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| LimitForm::of(me, &limit)),
        errors,
        title: limit.name,
        facts,
        quantities: quantities(me),
        holds_for: holds_for(&mut conn).await?,
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
