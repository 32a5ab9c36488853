//! POST `/batches/{id}/meat`: meat into the mix, or a muscle that becomes a piece.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use time::OffsetDateTime;
use uuid::Uuid;

use super::batch::{self, Filled};
use crate::batches::db::{self, RawLot};
use crate::batches::entry::{self, LineStanding, MeatTaken, MuscleTaken, Standing};
use crate::book::{self, Lot, Pen};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, LotId, Named};
use crate::measure::ExactGrams;
use crate::rights::needs::Cure;
use crate::web::parts::Choice;
use crate::web::{App, Form, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct MeatForm {
    lot: String,
    /// Which line of the recipe; empty where it follows from the lot.
    line: String,
    weight: String,
    weight_unit: String,
    when: String,
}

struct Typed {
    lot: LotId,
    line: Option<u16>,
    weight: ExactGrams,
    when: Option<OffsetDateTime>,
}

impl MeatForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let lot = read.value("lot", &self.lot, "Choose the lot that it comes from.");
        let line = read.maybe("line", &self.line, "Choose the line of the recipe.");
        let weight = read.exact_weight("weight", &self.weight, &self.weight_unit);
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { lot: lot?, line: line?, weight: weight?, when: when? }))
    }
}

#[derive(Template)]
#[template(path = "batches/meat.html")]
struct Sheet<'a> {
    id: BatchId,
    form_id: Uuid,
    form: MeatForm,
    errors: &'a Errors,
    whole: bool,
    lots: Vec<Choice>,
    meat_lines: Vec<Choice>,
    so_far: String,
}

/// POST `/batches/{id}/meat`
pub async fn take(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<BatchId>,
    form: Form<MeatForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => batch::again(&app, &me, id, Filled::Meat(form.fields), errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<MeatForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let batch = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let lot = book::db::lot(&mut pen, typed.lot).await?;
    let lot = lot.ok_or_else(|| Refusal::at("lot", "There is no such lot."))?;
    if db::lies_on_the_block(&mut pen, lot.id).await? {
        let message =
            format!("{} lies on the block. Weigh the cut there first, or close its breakdown.", lot.code);
        return Err(Refusal::at("lot", message).into());
    }
    let line = typed.line.or_else(|| own_line(&batch, &lot));
    if batch.kind.is_whole_muscle() {
        let muscle = muscle(&mut pen, &batch, &lot, typed.weight, line).await?;
        pen.append(entry::take_muscle(muscle, &batch, &lot, &me.shop.say())?).await?;
    } else {
        let taken = MeatTaken {
            batch: id,
            mix: batch.mix.id,
            lot: lot.named(),
            item: Named::new(lot.item, lot.item_name.clone()),
            weight: typed.weight.grams(),
            exact: typed.weight.beside(),
            line,
        };
        pen.append(entry::take_meat(taken, &batch, &lot, &me.shop.say())?).await?;
    }
    pen.commit().await
}

async fn muscle(
    pen: &mut Pen,
    batch: &Standing,
    lot: &Lot,
    weight: ExactGrams,
    line: Option<u16>,
) -> Result<MuscleTaken> {
    let place =
        batch.place.clone().ok_or_else(|| Refusal::of("The batch is nowhere. Put it into a stage first."))?;
    let code = batch.code.piece(pen.next_piece(&batch.code).await?).map_err(anyhow::Error::from)?;
    Ok(MuscleTaken {
        batch: batch.batch,
        lot: lot.named(),
        item: Named::new(lot.item, lot.item_name.clone()),
        piece: LotId::made_by(pen.next().id),
        code,
        product: batch.product.clone(),
        weight: weight.grams(),
        exact: weight.beside(),
        place,
        line,
        target_loss: batch.target_loss,
        weigh_every: batch.weigh_every,
    })
}

fn meat_lines(batch: &Standing) -> impl Iterator<Item = &LineStanding> {
    batch.lines.iter().filter(|line| line.line.role.is_meat())
}

/// The line of the recipe that asks for this very thing, or the only line of meat that there is.
fn own_line(batch: &Standing, lot: &Lot) -> Option<u16> {
    let mut lines = meat_lines(batch);
    let own = meat_lines(batch).find(|line| line.line.item.id == lot.item);
    let only = match (lines.next(), lines.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    };
    own.or(only).map(|line| line.n)
}

/// The sheet, empty or as it was refused.
pub async fn sheet(
    me: &Me,
    conn: &mut PgConnection,
    batch: &Standing,
    form: Option<MeatForm>,
    errors: Errors,
) -> Result<String> {
    let raw = db::raw_lots(conn).await?;
    let form = form.unwrap_or_else(|| MeatForm {
        weight_unit: me.shop.weight_unit().symbol().to_owned(),
        ..MeatForm::default()
    });
    let (asked, others): (Vec<_>, Vec<_>) =
        raw.iter().partition(|lot| meat_lines(batch).any(|line| line.line.item.id == lot.item));
    let mut lots: Vec<Choice> = asked.into_iter().chain(others).map(|lot| choice(me, lot)).collect();
    keep_chosen(&mut lots, &form.lot);
    let named: Vec<_> = meat_lines(batch).collect();
    let lines =
        if named.len() < 2 { Vec::new() } else { named.iter().map(|line| line_choice(me, line)).collect() };
    let sheet = Sheet {
        id: batch.batch,
        form_id: fresh_id(),
        form,
        errors: &errors,
        whole: batch.kind.is_whole_muscle(),
        lots,
        meat_lines: lines,
        so_far: format!("{} of {} taken", me.shop.weight(batch.meat), me.shop.weight(batch.meat_target)),
    };
    Ok(sheet.render().map_err(anyhow::Error::from)?)
}

fn choice(me: &Me, lot: &RawLot) -> Choice {
    let place = lot.place_name.as_ref().map_or_else(String::new, |place| format!(", {place}"));
    Choice::new(lot.lot, format!("{} {}", lot.code, lot.item_name))
        .note(format!("{}{place}", me.shop.weight(lot.grams)))
}

/// What was chosen stays chosen when the form comes back, though it is no longer on offer.
pub(super) fn keep_chosen(choices: &mut Vec<Choice>, chosen: &str) {
    if chosen.parse::<LotId>().is_ok() && choices.iter().all(|choice| choice.value != chosen) {
        choices.push(Choice::new(chosen, "the lot that was chosen"));
    }
}

fn line_choice(me: &Me, line: &LineStanding) -> Choice {
    let note = format!("{} of {}", me.shop.weight(line.weighed), me.shop.weight(line.target));
    Choice::new(line.n, line.line.item.name.clone()).note(note)
}
