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
use crate::measure::Percent;
use crate::rights::needs::Cut;
use crate::web::parts::{Choice, Tab};
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

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
    opened: String,
    /// What is still on the block, or the cutting loss.
    left: String,
}

#[derive(Template)]
#[template(path = "block/index.html")]
struct IndexPage {
    frame: Frame,
    tabs: Vec<Tab>,
    form_id: Uuid,
    form: OpenForm,
    errors: Errors,
    waiting: Vec<Choice>,
    cut_lists: Vec<Choice>,
    rows: Vec<Row>,
    may_cut: bool,
}

/// GET `/block`
pub async fn page(State(app): State<App>, me: Me, Query(form): Query<OpenForm>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
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
            let list = db::cut_list(&mut pen, list).await?.filter(|list| !list.retired);
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

async fn ask(app: &App, me: &Me, status: StatusCode, mut form: OpenForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let waiting = db::waiting(&mut conn).await?;
    let picked = waiting.iter().find(|lot| lot.lot.to_string() == form.lot);
    if let (Some(lot), true, StatusCode::OK) = (picked, form.cut_list.is_empty(), status) {
        let list = db::list_of_last_time(&mut conn, lot.item).await?;
        form.cut_list = list.map(|list| list.to_string()).unwrap_or_default();
    }
    let lists = db::cut_lists(&mut conn, false).await?.into_iter().map(|list| {
        let sources: Vec<&str> = list.sources.iter().map(|form| form.word()).collect();
        Choice::new(list.id, list.name).note(format!("for {}", sources.join(", ")))
    });
    let rows = db::listed(&mut conn, LISTED).await?.into_iter().map(|row| Row {
        href: row.id.path(),
        code: row.code.to_string(),
        name: row.item_name,
        taken_in: me.shop.weight(row.taken_in),
        left: match row.loss {
            Some(loss) => format!("closed, loss {}", Percent::of(loss, row.taken_in).text()),
            None => me.shop.weight(row.left),
        },
        opened: crate::web::ledger::day(me, row.opened_at),
    });
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Block),
        tabs: super::tabs("/block"),
        form_id: fresh_id(),
        form,
        errors,
        waiting: waiting
            .iter()
            .map(|lot| {
                let name = format!("{} {}", lot.code, lot.item_name);
                Choice::new(lot.lot, name).note(format!("{} {}", lot.form.word(), me.shop.weight(lot.grams)))
            })
            .collect(),
        cut_lists: lists.collect(),
        rows: rows.collect(),
        may_cut: me.may(crate::rights::Right::Cut),
    };
    page::show(status, &page)
}
