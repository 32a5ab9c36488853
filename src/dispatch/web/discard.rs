//! `/dispatch/discard`: the list of what is thrown away, why, and one signature.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::entry::Leaving;
use super::super::entry::discard::{self, DiscardLine, LotsDiscarded};
use super::draft::{self, DraftForm, LineView, TypedLine};
use crate::error::{Error, Errors, Refusal, Result};
use crate::rights::Right;
use crate::rights::needs::Dispatch;
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Begin {
    lots: String,
}

/// What the form says, before the book is asked.
struct Typed {
    reason: String,
    when: Option<time::OffsetDateTime>,
    lines: Vec<TypedLine>,
}

fn read(form: &DraftForm, shop: &Shop) -> Result<Typed, Errors> {
    let mut read = Reader::new(shop);
    let lines = form.read_lines(&mut read);
    let reason = read.note("reason", &form.reason, "Say why it is thrown away.");
    let when = read.when(&form.when);
    read.finish(|| Some(Typed { reason: reason?, when: when?, lines: lines? }))
}

#[derive(Template)]
#[template(path = "dispatch/discard.html")]
struct DiscardPage {
    frame: Frame,
    form_id: Uuid,
    form: DraftForm,
    errors: Errors,
    may: bool,
    lines: Vec<LineView>,
}

/// GET `/dispatch/discard?lots=CODE,CODE`
pub async fn page(State(app): State<App>, me: Me, Query(begin): Query<Begin>) -> Result<Response> {
    let mut form = DraftForm { code: begin.lots, ..DraftForm::default() };
    let errors = form.redraw(&mut *app.db().await?, &me.shop, is_there).await?;
    ask(&app, &me, StatusCode::OK, form, errors).await
}

/// POST `/dispatch/discard`
pub async fn sign_or_draft(
    State(app): State<App>,
    me: Signer<Dispatch>,
    form: Form<DraftForm>,
) -> Result<Response> {
    if form.drafting() {
        let mut fields = form.fields;
        let errors = fields.redraw(&mut *app.db().await?, &me.shop, is_there).await?;
        let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
        return ask(&app, &me, status, fields, errors).await;
    }
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/dispatch/discards"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

fn is_there(leaving: &Leaving) -> Result<(), Refusal> {
    leaving.lot.in_the_book("code")
}

async fn sign(app: &App, me: &Me, form: &Form<DraftForm>) -> Result<()> {
    let typed = read(form, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let lots = draft::lots_of(&mut pen, &typed.lines).await?;
    let mut lines = Vec::with_capacity(lots.len());
    for (n, (line, lot)) in typed.lines.iter().zip(&lots).enumerate() {
        let weight = draft::weight_of(line, lot, n, &me.shop)?;
        lines.push(DiscardLine { lot: lot.lot.named(), description: lot.lot.item_name.clone(), weight });
    }
    let discarded = LotsDiscarded { lines, reason: typed.reason };
    pen.append(discard::discard(discarded, &lots, &me.shop.say())?).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(app: &App, me: &Me, status: StatusCode, form: DraftForm, errors: Errors) -> Result<Response> {
    let lines = form.views(&mut *app.db().await?, &me.shop).await?;
    let frame = Frame::new(app, me, Area::Dispatch);
    let may = me.may(Right::Dispatch);
    page::show(status, &DiscardPage { frame, form_id: fresh_id(), form, errors, may, lines })
}
