//! `/attachments`: all papers, the latest first; `?about=supplier/…`: those of one thing, and attaching another.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{About, Sort};
use super::{Row, row};
use crate::book::Seq;
use crate::error::{Error, Errors, Result};
use crate::rights::Right;
use crate::web::parts::{Choice, Paging};
use crate::web::{App, Area, Frame, Me, Query, fresh_id, page};

/// Papers on one leaf.
const LEAF: i64 = 50;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    about: String,
    before: String,
}

/// A paper as it is typed; the file itself cannot be kept on the page by any browser.
#[derive(Debug, Default, Clone)]
pub struct PaperForm {
    pub sort: String,
    pub note: String,
}

#[derive(Template)]
#[template(path = "attachments/index.html")]
struct IndexPage {
    frame: Frame,
    /// What they belong to; empty for all.
    name: String,
    href: String,
    key: String,
    rows: Vec<Row>,
    paging: Paging,
    form_id: Uuid,
    form: PaperForm,
    errors: Errors,
    sorts: Vec<Choice>,
    may_attach: bool,
}

/// GET `/attachments`
pub async fn page(State(app): State<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    if asked.about.is_empty() {
        return all(&app, &me, &asked.before).await;
    }
    let about = find(&app, &asked.about).await?;
    ask(&app, &me, StatusCode::OK, &about, PaperForm::default(), Errors::default()).await
}

/// What `supplier/…` or `line/12` names.
pub async fn find(app: &App, key: &str) -> Result<About> {
    let (word, id) = key.split_once('/').ok_or(Error::NotFound)?;
    db::named(&mut *app.db().await?, word, id).await?.ok_or(Error::NotFound)
}

async fn all(app: &App, me: &Me, before: &str) -> Result<Response> {
    let start = before.parse().map_or(Seq(i64::MAX), Seq);
    let papers = db::papers(&mut *app.db().await?, start, LEAF).await?;
    let full = i64::try_from(papers.len()).is_ok_and(|found| found == LEAF);
    let older = papers.last().filter(|_| full).map(|last| format!("/attachments?before={}", last.seq));
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Checks),
        name: String::new(),
        href: String::new(),
        key: String::new(),
        rows: papers.iter().map(|paper| row(me, paper)).collect(),
        paging: Paging {
            newer: if start == Seq(i64::MAX) { String::new() } else { "/attachments".to_owned() },
            older: older.unwrap_or_default(),
            words: String::new(),
        },
        form_id: fresh_id(),
        form: PaperForm::default(),
        errors: Errors::default(),
        sorts: Vec::new(),
        may_attach: false,
    };
    page::show(StatusCode::OK, &page)
}

/// The one place that draws the page of a thing's papers.
pub async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    about: &About,
    form: PaperForm,
    errors: Errors,
) -> Result<Response> {
    let papers = db::papers_of(&mut *app.db().await?, about).await?;
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Checks),
        name: about.name(),
        href: about.path(),
        key: about.key(),
        rows: papers.iter().map(|paper| row(me, paper)).collect(),
        paging: Paging::default(),
        form_id: fresh_id(),
        form,
        errors,
        sorts: Sort::ALL.into_iter().map(|sort| Choice::new(sort.word(), sort.word())).collect(),
        may_attach: me.may(Right::Check),
    };
    page::show(status, &page)
}
