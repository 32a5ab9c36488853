//! `/parasites/{batch}`: each thing that the product's treatment asks for, what was found, and by which lines of the book; and the
//! same in short on the batch's page.

use askama::Template;
use axum::extract::State as Shared;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::entry::Control;
use super::super::found::{Judged, judged};
use super::mark;
use crate::book::Seq;
use crate::error::{Error, Result};
use crate::evidence::Found;
use crate::ids::BatchId;
use crate::standards::State;
use crate::standards::trichinella::CAUTION;
use crate::web::parts::{Fact, State as Mark};
use crate::web::{App, Area, Drawn, Frame, Me, Path, page};

/// How many lines of the book stand beside a condition; the rest are on their own pages.
const LINES: usize = 6;

struct Row {
    of: String,
    what: &'static str,
    needed: String,
    found: String,
    state: Mark,
    by: Vec<Seq>,
    more: usize,
}

#[derive(Template)]
#[template(path = "parasites/batch.html")]
struct BatchPage {
    frame: Frame,
    code: String,
    product: String,
    batch_href: String,
    product_href: String,
    state: Mark,
    said: String,
    may: String,
    facts: Vec<Fact>,
    rows: Vec<Row>,
    caution: &'static str,
}

#[derive(Template)]
#[template(path = "parasites/panel.html")]
struct PanelPart {
    href: String,
    control: &'static str,
    state: Mark,
    said: String,
}

/// How it stands, what is said of it, and what may be done where it failed.
fn said(judged: &Judged) -> (Mark, String, String) {
    match judged.found() {
        Found::Met { figure, .. } => (Mark::new("met", "met"), figure, String::new()),
        Found::NotYet { missing } => {
            (Mark::new("wait", "not yet"), names(judged, State::Missing).unwrap_or(missing), String::new())
        }
        Found::Failed { what, may, .. } => {
            (Mark::new("out", "not met"), names(judged, State::Failed).unwrap_or(what), may)
        }
    }
}

/// The names of the conditions that stand so, each once: the table says the rest. Nothing where none does, or where the
/// method itself is not rested on.
fn names(judged: &Judged, state: State) -> Option<String> {
    let mut names: Vec<&str> = Vec::new();
    for one in judged.asked.iter().filter(|one| one.condition.state == state) {
        if !names.contains(&one.condition.what) {
            names.push(one.condition.what);
        }
    }
    (!names.is_empty() && !judged.unconfirmed).then(|| names.join(", "))
}

fn control(judged: &Judged) -> &'static str {
    judged.control.as_ref().map_or("not chosen yet", |(control, _)| control.words())
}

/// GET `/parasites/{batch}`
pub async fn page(Shared(app): Shared<App>, me: Me, Path(id): Path<BatchId>) -> Result<Response> {
    let judged = judged(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let product_href = format!("/parasites/products/{}", judged.product);
    let mut facts = vec![Fact::new("Control", control(&judged)).link(product_href.clone())];
    if let Some((own, chosen)) = &judged.control {
        if !chosen.document.is_empty() {
            facts.push(Fact::new("Document", chosen.document.clone()));
        }
        if let Control::Published(method) = own {
            facts.push(Fact::new("Published in", method.source()));
            facts.push(Fact::new("How it was come by", method.mark().words()));
        }
    }
    let (state, said, may) = said(&judged);
    let row = |one: super::super::judge::Asked| Row {
        of: one.of,
        what: one.condition.what,
        needed: one.condition.needed,
        found: one.condition.found,
        state: mark(one.condition.state),
        more: one.by.len().saturating_sub(LINES),
        by: one.by.into_iter().take(LINES).collect(),
    };
    let page = BatchPage {
        frame: Frame::new(&app, &me, Area::Batches),
        code: judged.code,
        product: judged.product_name,
        batch_href: id.path(),
        product_href,
        state,
        said,
        may,
        facts,
        rows: judged.asked.into_iter().map(row).collect(),
        caution: CAUTION,
    };
    page::show(StatusCode::OK, &page)
}

/// What a batch's page says of it.
pub fn panel<'a>(app: &'a App, _me: &'a Me, id: BatchId) -> Drawn<'a> {
    Box::pin(async move {
        let Some(judged) = judged(&mut *app.db().await?, id).await? else { return Ok(None) };
        let (state, said, _) = said(&judged);
        let part = PanelPart { href: format!("/parasites/{id}"), control: control(&judged), state, said };
        Ok(Some(part.render().map_err(anyhow::Error::from)?))
    })
}
