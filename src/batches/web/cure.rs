//! POST `/batches/{id}/cure`: the cure, or the brine, laid on the pieces by their weight.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use super::batch::{self, Filled};
use crate::batches::db;
use crate::batches::entry::{self, CureApplied, PieceShare, Standing, share_out};
use crate::error::{Error, Errors, Result};
use crate::ids::BatchId;
use crate::measure::Grams;
use crate::recipes::RecipeKind;
use crate::rights::needs::Cure;
use crate::web::{App, Form, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct LayOnForm {
    left_over: String,
    left_over_unit: String,
    reason: String,
    when: String,
}

struct Typed {
    left_over: Grams,
    reason: String,
    when: Option<OffsetDateTime>,
}

impl LayOnForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let left_over = match self.left_over.trim() {
            "" | "0" => Some(Grams::ZERO),
            text => read.small_weight("left_over", text, &self.left_over_unit),
        };
        let reason = read.line_or_empty("reason", &self.reason);
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { left_over: left_over?, reason: reason?, when: when? }))
    }
}

struct Share {
    code: String,
    green: String,
    takes: String,
}

#[derive(Template)]
#[template(path = "batches/cure.html")]
struct Sheet<'a> {
    id: BatchId,
    form_id: Uuid,
    form: LayOnForm,
    errors: &'a Errors,
    total: String,
    brine: bool,
    shares: Vec<Share>,
}

/// POST `/batches/{id}/cure`
pub async fn lay_on(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<BatchId>,
    form: Form<LayOnForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => batch::again(&app, &me, id, Filled::LayOn(form.fields), errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<LayOnForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let batch = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let applied = CureApplied {
        batch: id,
        mix: batch.mix.id,
        pieces: shares(&batch, batch.mix.grams - typed.left_over),
        left_over: typed.left_over,
        reason: typed.reason,
    };
    pen.append(entry::apply_cure(applied, &batch, me.shop.small_division, &me.shop.say())?).await?;
    pen.commit().await
}

/// What each piece takes, by its green weight.
fn shares(batch: &Standing, total: Grams) -> Vec<PieceShare> {
    let by: Vec<Grams> = batch.pieces.iter().map(|piece| piece.green).collect();
    let shares = batch.pieces.iter().zip(share_out(total, &by));
    shares.map(|(piece, weight)| PieceShare { lot: piece.lot.named(), weight }).collect()
}

/// The sheet, empty or as it was refused.
pub fn sheet(me: &Me, batch: &Standing, mut form: LayOnForm, errors: &Errors) -> Result<String> {
    if form.left_over_unit.is_empty() {
        me.shop.small_unit().symbol().clone_into(&mut form.left_over_unit);
    }
    let row = |(piece, share): (&entry::PieceStanding, PieceShare)| Share {
        code: piece.lot.code.to_string(),
        green: me.shop.weight(piece.green),
        takes: me.shop.weight(share.weight),
    };
    let sheet = Sheet {
        id: batch.batch,
        form_id: fresh_id(),
        form,
        errors,
        total: me.shop.weight(batch.mix.grams),
        brine: batch.kind == RecipeKind::Brine,
        shares: batch.pieces.iter().zip(shares(batch, batch.mix.grams)).map(row).collect(),
    };
    Ok(sheet.render().map_err(anyhow::Error::from)?)
}
