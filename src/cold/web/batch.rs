//! `/cold/batches/{batch}`: where a batch stood in cure and how warm it was there, the deviations of it, and opening one for
//! what was too warm and has none.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use crate::cold::{after, db, found, path};
use crate::deviations;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::BatchId;
use crate::rights::Right;
use crate::rights::needs::Decide;
use crate::standards::cut_off;
use crate::web::parts::{Fact, Stand, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, fresh_id, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
pub struct OpenForm {}

#[derive(Template)]
#[template(path = "cold/batch.html")]
struct BatchPage {
    frame: Frame,
    action: String,
    form_id: Uuid,
    errors: Errors,
    code: String,
    href: String,
    stands: Vec<Stand>,
    /// What was too warm and has no deviation.
    undecided: Vec<Fact>,
    deviations: Vec<Stand>,
    may: bool,
}

/// GET `/cold/batches/{batch}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<BatchId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, Errors::default()).await
}

/// POST `/cold/batches/{batch}`: opens a deviation for everything that has none.
pub async fn open(
    State(app): State<App>,
    me: Signer<Decide>,
    Path(id): Path<BatchId>,
    form: Form<OpenForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&path(id)),
        Err(Error::Form(errors)) => ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<OpenForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    db::batch_named(&mut pen, id).await?.ok_or(Error::NotFound)?;
    if after::open(&mut pen, id).await? == 0 {
        return Err(Refusal::of("Nothing of its cure was too warm that has no deviation.").into());
    }
    pen.commit().await
}

async fn ask(app: &App, me: &Me, status: StatusCode, id: BatchId, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let batch = db::batch_named(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let (state, said) = said(&found::cold_found(&mut conn, id).await?);
    let undecided = found::undecided(&mut conn, id).await?;
    let mut deviations = Vec::new();
    for warmed in db::warmed(&mut conn, id).await? {
        deviations.extend(deviations::deviation(&mut conn, warmed.deviation).await?.map(|one| Stand {
            state: if one.closed { Mark::new("met", "decided") } else { Mark::new("held", "open") },
            what: one.what,
            note: ledger::moment(me, one.opened_at),
            href: warmed.deviation.path(),
        }));
    }
    let page = BatchPage {
        frame: Frame::new(app, me, Area::Checks),
        action: path(id),
        form_id: fresh_id(),
        errors,
        code: batch.name,
        href: id.path(),
        stands: vec![Stand { state, what: "Time and cold of cure".into(), note: said, href: String::new() }],
        undecided: undecided
            .into_iter()
            .map(|one| {
                let span = format!(
                    "above {} for {} min, up to {}; above it from {} to {}",
                    one.most.text(me.shop.system),
                    cut_off(one.minutes, 1),
                    one.warmest.text(me.shop.system),
                    ledger::moment(me, one.from),
                    ledger::moment(me, one.until)
                );
                Fact::new(one.place.name, span)
            })
            .collect(),
        deviations,
        may: me.may(Right::Decide),
    };
    page::show(status, &page)
}

fn said(found: &crate::evidence::Found) -> (Mark, String) {
    use crate::evidence::Found;
    match found {
        Found::Met { figure, .. } => (Mark::new("met", "met"), figure.clone()),
        Found::NotYet { missing } => (Mark::new("wait", "not yet"), missing.clone()),
        Found::Failed { what, may, .. } => (Mark::new("out", "not met"), format!("{what}. {may}")),
    }
}
