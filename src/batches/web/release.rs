//! POST `/batches/{id}/release`: pieces let go to sale by somebody who may decide that.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use super::batch::{self, Filled};
use super::tables::lost;
use crate::batches::db;
use crate::batches::entry::{self, PieceStanding, PiecesReleased, ReleasedPiece, Standing};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, LotId};
use crate::measure::Percent;
use crate::rights::needs::Decide;
use crate::web::parts::{Choice, Stand, State as Mark};
use crate::web::{App, Form, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ReleaseForm {
    pieces: Vec<String>,
    note: String,
    when: String,
}

struct Typed {
    pieces: Vec<LotId>,
    note: String,
    when: Option<OffsetDateTime>,
}

impl ReleaseForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let mut pieces = Vec::new();
        for piece in &self.pieces {
            pieces.extend(read.value::<LotId>("pieces", piece, "Choose the pieces to release."));
        }
        pieces.sort_unstable();
        pieces.dedup();
        let note = read.line_or_empty("note", &self.note);
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { pieces, note: note?, when: when? }))
    }
}

#[derive(Template)]
#[template(path = "batches/release.html")]
struct Sheet<'a> {
    id: BatchId,
    form_id: Uuid,
    form: ReleaseForm,
    errors: &'a Errors,
    pieces: Vec<Choice>,
    stands: Vec<Stand>,
}

/// POST `/batches/{id}/release`
pub async fn release(
    State(app): State<App>,
    me: Signer<Decide>,
    Path(id): Path<BatchId>,
    form: Form<ReleaseForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => batch::again(&app, &me, id, Filled::Release(form.fields), errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<ReleaseForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let batch = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let mut pieces = Vec::with_capacity(typed.pieces.len());
    for lot in typed.pieces {
        let message = format!("That is not a piece of {}.", batch.code);
        let piece = batch.piece(lot).ok_or_else(|| Refusal::at("pieces", message))?;
        pieces.push(ReleasedPiece { lot: piece.lot.named(), green: piece.green, weight: piece.lot.grams });
    }
    let released = PiecesReleased { batch: id, code: batch.code, pieces, note: typed.note };
    pen.append(entry::release(released, &batch)?).await?;
    pen.commit().await
}

/// The sheet, with every piece that can be released ticked, or as it was refused.
pub fn sheet(me: &Me, batch: &Standing, form: Option<ReleaseForm>, errors: &Errors) -> Result<String> {
    let open: Vec<&PieceStanding> =
        batch.pieces.iter().filter(|piece| !piece.released && piece.lot.grams.is_positive()).collect();
    let form = form.unwrap_or_default();
    let choice = |piece: &&PieceStanding| {
        let held = if piece.lot.held.is_some() { ", on hold" } else { "" };
        let change = lost(piece.green, piece.lot.grams);
        let change = if piece.lot.grams > piece.green { change } else { format!("loss {change}") };
        Choice::new(piece.lot.id, piece.lot.code.to_string())
            .note(format!("{}, {change}{held}", me.shop.weight(piece.lot.grams)))
    };
    let sheet = Sheet {
        id: batch.batch,
        form_id: fresh_id(),
        form,
        errors,
        pieces: open.iter().map(choice).collect(),
        stands: stands(batch, &open),
    };
    Ok(sheet.render().map_err(anyhow::Error::from)?)
}

/// What the book holds of them, criterion by criterion.
fn stands(batch: &Standing, open: &[&PieceStanding]) -> Vec<Stand> {
    let stand =
        |state: Mark, what: String, note: &str| Stand { state, what, note: note.into(), href: String::new() };
    let mut all = Vec::new();
    if let Some(target) = batch.target_loss {
        let reached = open.iter().filter(|piece| loss(piece) >= target).count();
        let state =
            if reached == open.len() { Mark::new("met", "met") } else { Mark::new("late", "not all") };
        let what = format!("{reached} of {} pieces have lost {target} % of their green weight", open.len());
        all.push(stand(state, what, "The recipe's aim: a guide, not proof of safety."));
    }
    let held = open.iter().filter(|piece| piece.lot.held.is_some()).count();
    all.push(if held == 0 {
        stand(Mark::new("met", "met"), "No piece is on hold".into(), "")
    } else {
        stand(Mark::new("held", "held"), format!("{held} on hold"), "A held piece is not released.")
    });
    all
}

fn loss(piece: &PieceStanding) -> Percent {
    Percent::of(piece.green - piece.lot.grams, piece.green)
}
