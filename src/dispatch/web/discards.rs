//! `/dispatch/discards`: what was thrown away, and why.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db;
use super::tabs;
use crate::error::Result;
use crate::rights::Right;
use crate::web::parts::Tab;
use crate::web::{App, Area, Frame, Me, ledger, page};

/// How many lots the page lists.
const LISTED: i64 = 200;

struct Row {
    href: String,
    code: String,
    name: String,
    when: String,
    entry: String,
    reason: String,
    weight: String,
    struck: bool,
}

#[derive(Template)]
#[template(path = "dispatch/discards.html")]
struct DiscardsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    rows: Vec<Row>,
    may: bool,
}

/// GET `/dispatch/discards`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let discards = db::discards(&mut *app.db().await?, LISTED).await?;
    let rows = discards.into_iter().map(|row| Row {
        href: row.lot.path(),
        code: row.code.to_string(),
        name: row.item_name,
        when: ledger::moment(&me, row.happened_at),
        entry: format!("/entries/{}", row.seq),
        reason: row.reason,
        weight: me.shop.weight(row.grams),
        struck: row.struck,
    });
    let page = DiscardsPage {
        frame: Frame::new(&app, &me, Area::Dispatch),
        tabs: tabs("/dispatch/discards"),
        rows: rows.collect(),
        may: me.may(Right::Dispatch),
    };
    page::show(StatusCode::OK, &page)
}
