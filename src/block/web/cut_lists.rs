//! `/block/cut-lists`: the shop's lists of expected cuts.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db;
use crate::error::Result;
use crate::rights::Right;
use crate::web::parts::Tab;
use crate::web::{App, Area, Frame, Me, page};

struct Row {
    href: String,
    name: String,
    sources: String,
    cuts: i64,
    sum: String,
    tolerance: String,
    retired: bool,
}

#[derive(Template)]
#[template(path = "block/cut_lists.html")]
struct CutListsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    rows: Vec<Row>,
    may_cut: bool,
}

/// GET `/block/cut-lists`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let lists = db::cut_lists(&mut *app.db().await?, true).await?;
    let rows = lists.into_iter().map(|list| Row {
        href: list.id.path(),
        name: list.name,
        sources: list.sources.iter().map(|form| form.word()).collect::<Vec<_>>().join(", "),
        cuts: list.cuts,
        sum: list.sum.text(),
        tolerance: list.tolerance.text(),
        retired: list.retired,
    });
    let page = CutListsPage {
        frame: Frame::new(&app, &me, Area::Block),
        tabs: super::tabs("/block/cut-lists"),
        rows: rows.collect(),
        may_cut: me.may(Right::Cut),
    };
    page::show(StatusCode::OK, &page)
}
