//! `/block/breakdowns/{id}/source`: the source is laid on the scale again, and weighs something else than the book says.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, SourceReweighed};
use super::balance::{self, Balance};
use super::heading::{From, Heading};
use crate::error::{Error, Errors, Result};
use crate::ids::BreakdownId;
use crate::measure::Grams;
use crate::rights::Right;
use crate::rights::needs::Cut;
use crate::web::parts::Figure;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct SourceForm {
    weight: String,
    weight_unit: String,
    reason: String,
}

impl SourceForm {
    fn read(&self, shop: &Shop) -> Result<(Grams, String), Errors> {
        let mut read = Reader::new(shop);
        let is = read.weight("weight", &self.weight, &self.weight_unit);
        let reason = read.line("reason", &self.reason, "Say why the scale and the book differ.");
        read.finish(|| Some((is?, reason?)))
    }
}

#[derive(Template)]
#[template(path = "block/source.html")]
struct SourcePage {
    frame: Frame,
    id: BreakdownId,
    head: Heading,
    form_id: Uuid,
    form: SourceForm,
    errors: Errors,
    figures: Vec<Figure>,
    may_cut: bool,
    closed: bool,
}

/// GET `/block/breakdowns/{id}/source`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<BreakdownId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/block/breakdowns/{id}/source`
pub async fn reweigh(
    State(app): State<App>,
    me: Signer<Cut>,
    Path(id): Path<BreakdownId>,
    form: Form<SourceForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BreakdownId, form: &Form<SourceForm>) -> Result<()> {
    let (is, reason) = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let block = db::on_the_block(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let said =
        SourceReweighed { breakdown: id, source: block.source.named(), was: block.source.grams, is, reason };
    pen.append(entry::reweigh(said, &block, &me.shop.say())?).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: BreakdownId,
    form: Option<SourceForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let block = db::on_the_block(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let from = From::of(&mut conn, &block).await?;
    let cuts = db::cuts(&mut conn, id).await?;
    let loss = db::closed(&mut conn, id).await?.map(|closed| closed.loss);
    let balance = Balance::of(&block, &cuts, loss);
    let unit = me.shop.weight_unit().symbol().to_owned();
    let page = SourcePage {
        frame: Frame::new(app, me, Area::Block),
        id,
        head: Heading::of(me, &block, &from),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| SourceForm { weight_unit: unit, ..SourceForm::default() }),
        errors,
        figures: balance::figures(&me.shop, &balance, &[], &cuts),
        may_cut: me.may(Right::Cut),
        closed: block.closed,
    };
    page::show(status, &page)
}
