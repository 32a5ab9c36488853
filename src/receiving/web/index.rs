//! `/receiving`: what came through the door, the latest first, by day.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::super::db;
use super::rows::{self, Day};
use crate::book::Seq;
use crate::error::Result;
use crate::rights::Right;
use crate::web::parts::{Paging, Tab};
use crate::web::{App, Area, Frame, Me, Query, page};

/// Deliveries on one leaf.
const LEAF: i64 = 40;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Leaf {
    /// Only deliveries that were written before this line of the book.
    before: String,
}

#[derive(Template)]
#[template(path = "receiving/index.html")]
struct IndexPage {
    frame: Frame,
    tabs: Vec<Tab>,
    days: Vec<Day>,
    paging: Paging,
    may_receive: bool,
    /// Whether there is a supplier to take something in from.
    suppliers: bool,
}

/// GET `/receiving`
pub async fn page(State(app): State<App>, me: Me, Query(leaf): Query<Leaf>) -> Result<Response> {
    let before = leaf.before.parse().map_or(Seq(i64::MAX), Seq);
    let mut conn = app.db().await?;
    let mut listed = db::deliveries(&mut conn, None, before, LEAF + 1).await?;
    let more = listed.len() > usize::try_from(LEAF).map_err(anyhow::Error::from)?;
    listed.truncate(usize::try_from(LEAF).map_err(anyhow::Error::from)?);
    let older = listed.last().filter(|_| more).map(|row| format!("/receiving?before={}", row.seq));
    let newer = if before == Seq(i64::MAX) { String::new() } else { "/receiving".to_owned() };
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Receiving),
        tabs: rows::tabs("/receiving"),
        days: rows::by_day(&me, listed),
        paging: Paging { newer, older: older.unwrap_or_default(), words: String::new() },
        may_receive: me.may(Right::Receive),
        suppliers: !db::suppliers(&mut conn).await?.is_empty(),
    };
    page::show(StatusCode::OK, &page)
}
