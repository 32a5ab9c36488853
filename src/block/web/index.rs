//! `/block`: what is on the block, what was, and laying the next lot on it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, BreakdownOpened};
use crate::book;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BreakdownId, CutListId, LotId, Named};
use crate::rights::needs::Cut;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

/// How many breakdowns the page lists.
const LISTED: i64 = 40;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct OpenForm {
    lot: String,
    cut_list: String,
}

impl OpenForm {
    fn read(&self, shop: &Shop) -> Result<(LotId, Option<CutListId>), Errors> {
        let mut read = Reader::new(shop);
        let lot = read.value("lot", &self.lot, "Choose what comes on the block.");
        let list = read.maybe("cut_list", &self.cut_list, "Choose a cut list, or none.");
        read.finish(|| Some((lot?, list?)))
    }
}

struct Row {
    href: String,
    code: String,
    name: String,
    taken_in: String,
    left: String,
    opened: String,
    closed: bool,
}

#[derive(Template)]
#[template(path = "block/index.html")]
struct IndexPage {
    frame: Frame,
    form_id: Uuid,
    form: OpenForm,
    errors: Errors,
    waiting: Vec<Choice>,
    cut_lists: Vec<Choice>,
    rows: Vec<Row>,
    may_cut: bool,
}

/// GET `/block`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, OpenForm::default(), Errors::default()).await
}

/// POST `/block`
pub async fn open(State(app): State<App>, me: Signer<Cut>, form: Form<OpenForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<OpenForm>) -> Result<BreakdownId> {
    let (lot, list) = form.read(&me.shop)?;
    let id = BreakdownId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(id) };
    let lot =
        book::db::lot(&mut pen, lot).await?.ok_or_else(|| Refusal::at("lot", "There is no such lot."))?;
    let cut_list = match list {
        Some(list) => {
            let list = db::cut_list(&mut pen, list).await?;
            let list = list.ok_or_else(|| Refusal::at("cut_list", "There is no such cut list."))?;
            Some(Named::new(list.id, list.name))
        }
        None => None,
    };
    let opened = BreakdownOpened { breakdown: id, lot: lot.named(), cut_list, taken_in: lot.grams };
    pen.append(entry::open(opened, &lot, &me.shop.say())?).await?;
    pen.commit().await?;
    Ok(id)
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: OpenForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let waiting = db::waiting(&mut conn).await?.into_iter().map(|lot| {
        Choice::new(lot.lot, format!("{} {}", lot.code, lot.item_name)).note(me.shop.weight(lot.grams))
    });
    let lists = db::cut_lists(&mut conn).await?.into_iter().map(|list| Choice::new(list.id, list.name));
    let rows = db::listed(&mut conn, LISTED).await?.into_iter().map(|row| Row {
        href: row.id.path(),
        code: row.code.to_string(),
        name: row.item_name,
        taken_in: me.shop.weight(row.taken_in),
        left: me.shop.weight(row.left),
        opened: crate::web::ledger::day(me, row.opened_at),
        closed: row.closed,
    });
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Block),
        form_id: fresh_id(),
        form,
        errors,
        waiting: waiting.collect(),
        cut_lists: lists.collect(),
        rows: rows.collect(),
        may_cut: me.may(crate::rights::Right::Cut),
    };
    page::show(status, &page)
}
