//! `/dispatch/packs/{entry}`: what one signing packed, and what is done with it next: labels, dispatch.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db;
use crate::book;
use crate::error::{Error, Result};
use crate::rights::Right;
use crate::web::ledger::{self, Style};
use crate::web::parts::Line;
use crate::web::{App, Area, Frame, Me, Path, page};

struct Row {
    href: String,
    code: String,
    name: String,
    left: String,
}

#[derive(Template)]
#[template(path = "dispatch/packs.html")]
struct PacksPage {
    frame: Frame,
    source: String,
    source_href: String,
    codes: String,
    rows: Vec<Row>,
    lines: Vec<Line>,
    struck: bool,
    may: bool,
}

/// GET `/dispatch/packs/{entry}`
pub async fn page(State(app): State<App>, me: Me, Path(entry): Path<Uuid>) -> Result<Response> {
    let mut conn = app.db().await?;
    let packing = db::packing(&mut conn, entry).await?.ok_or(Error::NotFound)?;
    let entry = book::db::read_entry(&mut conn, packing.seq).await?.ok_or(Error::NotFound)?;
    let struck = entry.struck.is_some();
    let style = Style { days: true, strike: me.may(Right::Dispatch), ..Style::default() };
    let codes: Vec<String> = packing.packs.iter().map(|row| row.code.to_string()).collect();
    let rows = packing.packs.into_iter().map(|row| Row {
        href: row.lot.path(),
        code: row.code.to_string(),
        name: row.item_name,
        left: me.shop.weight(row.grams),
    });
    let page = PacksPage {
        frame: Frame::new(&app, &me, Area::Dispatch),
        source: packing.source_code.to_string(),
        source_href: packing.source.path(),
        codes: codes.join(","),
        rows: rows.collect(),
        lines: ledger::lines(&app.book.kinds, &me, &[entry], style)?,
        struck,
        may: me.may(Right::Dispatch),
    };
    page::show(StatusCode::OK, &page)
}
