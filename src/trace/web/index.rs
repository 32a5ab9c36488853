//! `/trace`: look up a code, or whatever stands on a docket, a tag or a sack.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::super::db::{self, Hit};
use crate::error::Result;
use crate::web::{App, Area, Frame, Me, Query, page};

/// The most letters that are looked up.
const LONGEST: usize = 120;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct LookUp {
    code: String,
}

#[derive(Template)]
#[template(path = "trace/index.html")]
struct IndexPage {
    frame: Frame,
    form: LookUp,
    hits: Vec<Hit>,
    /// Something was looked up, and the book has nothing of it.
    nothing: bool,
}

/// GET `/trace?code=`: leads straight to the trace when only one thing can be meant.
pub async fn page(State(app): State<App>, me: Me, query: Query<LookUp>) -> Result<Response> {
    let form = LookUp { code: query.0.code.trim().chars().take(LONGEST).collect() };
    let hits = if form.code.is_empty() {
        Vec::new()
    } else {
        db::look_up(&mut *app.db().await?, &form.code).await?
    };
    if let [only] = hits.as_slice() {
        return page::goto(&only.href);
    }
    let nothing = hits.is_empty() && !form.code.is_empty();
    let page = IndexPage { frame: Frame::new(&app, &me, Area::Trace), form, hits, nothing };
    page::show(StatusCode::OK, &page)
}
