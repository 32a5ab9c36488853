//! `/entries`: the whole book, the latest line first.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use crate::book::{self, Seq};
use crate::error::Result;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Line, Paging};
use crate::web::{App, Area, Frame, Me, Query, page};

/// Lines on one leaf.
const LEAF: i64 = 60;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Leaf {
    /// Only lines before this one.
    before: String,
}

#[derive(Template)]
#[template(path = "entries/index.html")]
struct BookPage {
    frame: Frame,
    lines: Vec<Line>,
    paging: Paging,
}

/// GET `/entries`
pub async fn page(State(app): State<App>, me: Me, Query(leaf): Query<Leaf>) -> Result<Response> {
    let before = leaf.before.parse().map_or(Seq(i64::MAX), Seq);
    let entries = book::db::before(&mut *app.db().await?, before, LEAF).await?;
    let style = Style { days: true, strikes: true, ..Style::default() };
    let first = entries.last().map(|entry| entry.at.seq);
    let older = first.filter(|seq| seq.0 > 1).map(|seq| format!("/entries?before={seq}")).unwrap_or_default();
    let words = match (entries.last(), entries.first()) {
        (Some(first), Some(last)) => format!("lines {} to {}", first.at.seq, last.at.seq),
        _ => String::new(),
    };
    let newer = if before == Seq(i64::MAX) { String::new() } else { "/entries".to_owned() };
    let page = BookPage {
        frame: Frame::new(&app, &me, Area::Elsewhere),
        lines: ledger::lines(&app.book.kinds, &me, &entries, style)?,
        paging: Paging { newer, older, words },
    };
    page::show(StatusCode::OK, &page)
}
