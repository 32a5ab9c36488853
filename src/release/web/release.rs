//! `/release/{batch}`: each criterion with how it stands, and the pieces let go by somebody who may decide that.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::views::{self, LoosenedRow, Row};
use crate::batches;
use crate::batches::entry::{PieceStanding, PiecesReleased, ReleasedPiece, Standing};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, LotId};
use crate::measure::Percent;
use crate::recipes::Stage;
use crate::release::entry::Stood;
use crate::release::entry::release as rule;
use crate::release::{Gathered, gather, path};
use crate::rights::Right;
use crate::rights::needs::Decide;
use crate::web::parts::{Choice, Notice};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ReleaseForm {
    pieces: Vec<String>,
    note: String,
}

struct Typed {
    pieces: Vec<LotId>,
    note: String,
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
        read.finish(|| Some(Typed { pieces, note: note? }))
    }
}

#[derive(Template)]
#[template(path = "release/release.html")]
struct ReleasePage {
    frame: Frame,
    id: BatchId,
    code: String,
    product: String,
    form_id: Uuid,
    form: ReleaseForm,
    errors: Errors,
    notices: Vec<Notice>,
    /// The family's name and address; empty where the product is in none.
    family: String,
    family_path: String,
    version: u32,
    loosened: Vec<LoosenedRow>,
    rows: Vec<Row>,
    pieces: Vec<Choice>,
    /// "3 pieces of 8 can be released."
    counted: String,
    review: String,
    may_decide: bool,
    who_decides: &'static str,
}

/// GET `/release/{batch}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<BatchId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/release/{batch}`
pub async fn release(
    State(app): State<App>,
    me: Signer<Decide>,
    Path(id): Path<BatchId>,
    form: Form<ReleaseForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<ReleaseForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let batch = batches::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let gathered = gather(&mut pen, id, me).await?.ok_or(Error::NotFound)?;
    let mut pieces = Vec::with_capacity(typed.pieces.len());
    for lot in typed.pieces {
        let message = format!("That is not a piece of {}.", batch.code);
        let piece = batch.piece(lot).ok_or_else(|| Refusal::at("pieces", message))?;
        pieces.push(ReleasedPiece { lot: piece.lot.named(), green: piece.green, weight: piece.lot.grams });
    }
    let Some((family, version)) = &gathered.family else {
        let message = format!("{} is in no family of products. Choose its family first.", batch.product.name);
        return Err(Refusal::of(message).into());
    };
    let released = PiecesReleased { batch: id, code: batch.code, pieces, note: typed.note, shown: None };
    let released = batches::entry::release(released, &batch)?;
    let released = rule::release(released, family, *version, &gathered.stood, gathered.review)?;
    pen.append(released).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: BatchId,
    form: Option<ReleaseForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let batch = batches::standing(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let gathered = gather(&mut conn, id, me).await?.ok_or(Error::NotFound)?;
    let here: Vec<_> = gathered.evidence.pieces.iter().filter(|piece| piece.here).collect();
    let waiting: Vec<&PieceStanding> =
        batch.pieces.iter().filter(|piece| !piece.released && piece.lot.grams.is_positive()).collect();
    let ready: Vec<&PieceStanding> =
        waiting.iter().copied().filter(|piece| is_ready(&batch, &gathered, piece)).collect();
    let counted = counted(ready.len(), waiting.len());
    // What was refused stays on the page, with all that could have been chosen.
    let shown = if errors.is_empty() { ready } else { waiting };
    let pieces: Vec<Choice> = shown.into_iter().map(|piece| choice(me, piece)).collect();
    let errors = if pieces.is_empty() { of_the_form(&errors) } else { errors };
    let family = gathered.family.as_ref();
    let page = ReleasePage {
        frame: Frame::new(app, me, Area::Batches),
        id,
        code: batch.code.to_string(),
        product: batch.product.name.clone(),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| ReleaseForm {
            pieces: pieces.iter().map(|choice| choice.value.clone()).collect(),
            note: String::new(),
        }),
        errors,
        notices: notices(&batch, family.is_some()),
        family: family.map(|(family, _)| family.name.clone()).unwrap_or_default(),
        family_path: family.map(|(family, _)| family.family.path()).unwrap_or_default(),
        version: family.map(|(_, version)| *version).unwrap_or_default(),
        loosened: family.map(|(family, _)| views::loosened(family)).unwrap_or_default(),
        rows: views::rows(id, &gathered.stood, &here),
        counted,
        pieces,
        review: format!("{}/review", path(id)),
        may_decide: me.may(Right::Decide),
        who_decides: super::WHO_DECIDES,
    };
    page::show(status, &page)
}

fn notices(batch: &Standing, in_family: bool) -> Vec<Notice> {
    let mut all = Vec::new();
    if !in_family {
        let text =
            format!("{} is in no family of products, so nothing of it is released.", batch.product.name);
        let mut notice = Notice::new("late", text);
        notice.href = "/release/families".into();
        notice.link = "Choose its family".into();
        all.push(notice);
    }
    if !matches!(batch.stage, Stage::Drying | Stage::Holding | Stage::Released) {
        let text =
            format!("It is in the stage {}. Pieces are released from drying or holding.", batch.stage.word());
        all.push(Notice::new("wait", text));
    }
    all
}

/// Whether a piece can go now: in drying or holding, not on hold, every criterion met.
fn is_ready(batch: &Standing, gathered: &Gathered, piece: &PieceStanding) -> bool {
    gathered.family.is_some()
        && matches!(batch.stage, Stage::Drying | Stage::Holding)
        && piece.lot.held.is_none()
        && gathered.stood.iter().all(|one: &Stood| one.is_met_for(piece.lot.id))
}

fn choice(me: &Me, piece: &PieceStanding) -> Choice {
    let weight = me.shop.weight(piece.lot.grams);
    let change = if piece.lot.grams > piece.green {
        format!("gain {}", Percent::of(piece.lot.grams - piece.green, piece.green).text())
    } else {
        format!("loss {}", Percent::of(piece.green - piece.lot.grams, piece.green).text())
    };
    let held = if piece.lot.held.is_some() { ", on hold" } else { "" };
    Choice::new(piece.lot.id, piece.lot.code.to_string())
        .note(format!("{weight}, {change} of green weight{held}"))
}

/// Where there is nothing to choose, what is wrong is wrong with the whole form.
fn of_the_form(errors: &Errors) -> Errors {
    let mut all = Errors::default();
    for refusal in errors.iter() {
        all.push(Refusal::of(refusal.message.clone()));
    }
    all
}

fn counted(ready: usize, waiting: usize) -> String {
    match (ready, waiting) {
        (_, 0) => "No piece waits.".into(),
        (0, 1) => "The piece that waits does not meet every criterion yet.".into(),
        (0, waiting) => format!("None of the {waiting} pieces that wait meets every criterion yet."),
        (ready, waiting) => format!("{ready} of the {waiting} pieces that wait meet every criterion."),
    }
}
