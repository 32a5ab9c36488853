//! `/block/breakdowns/{id}/closing`: what is left on the block is the cutting loss.

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::super::{db, entry};
use super::breakdown::{Asked, ask};
use crate::error::{Error, Result};
use crate::ids::BreakdownId;
use crate::rights::needs::Cut;
use crate::web::{App, Form, Me, Path, Reader, Signer, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct CloseForm {
    pub reason: String,
}

/// POST `/block/breakdowns/{id}/closing`
pub async fn close(
    State(app): State<App>,
    me: Signer<Cut>,
    Path(id): Path<BreakdownId>,
    form: Form<CloseForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(close_errors)) => {
            let asked = Asked { close: form.fields, close_errors, ..Asked::default() };
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, asked).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BreakdownId, form: &Form<CloseForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let reason = read.line_or_empty("reason", &form.reason);
    let reason = read.finish(|| reason)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let block = db::on_the_block(&mut pen, id).await?.ok_or(Error::NotFound)?;
    pen.append(entry::close(&block, reason, &me.shop.say())?).await?;
    pen.commit().await
}
