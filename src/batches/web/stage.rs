//! POST `/batches/{id}/stages`: a batch enters a stage, somewhere, at some time.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use time::OffsetDateTime;
use uuid::Uuid;

use super::batch::{self, Filled};
use crate::batches::db;
use crate::batches::entry::{self, BatchStaged, Standing, early, next_step};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, LotId, PlaceId};
use crate::recipes::{Stage, lasts};
use crate::rights::needs::Cure;
use crate::setup;
use crate::setup::entry::PlaceKind;
use crate::web::parts::Choice;
use crate::web::{App, Form, Me, Path, Reader, Shop, Signer, Touched, fresh_id, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct StageForm {
    stage: String,
    place: String,
    reason: String,
    when: String,
}

struct Typed {
    stage: Stage,
    place: PlaceId,
    reason: String,
    when: Option<OffsetDateTime>,
}

impl StageForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let stage = read.value("stage", &self.stage, "Choose the stage that it enters.");
        let place = read.value("place", &self.place, "Choose where it goes.");
        let reason = read.line_or_empty("reason", &self.reason);
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { stage: stage?, place: place?, reason: reason?, when: when? }))
    }
}

#[derive(Template)]
#[template(path = "batches/stage.html")]
struct Sheet<'a> {
    id: BatchId,
    form_id: Uuid,
    form: StageForm,
    errors: &'a Errors,
    title: String,
    plan: String,
    stages: Vec<Choice>,
    places: Vec<Choice>,
}

/// POST `/batches/{id}/stages`
pub async fn enter(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<BatchId>,
    form: Form<StageForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => batch::again(&app, &me, id, Filled::Stage(form.fields), errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<StageForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let batch = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let place = setup::place(&mut pen, typed.place).await?;
    let place = place.ok_or_else(|| Refusal::at("place", "There is no such place."))?;
    let staged = BatchStaged {
        batch: id,
        code: batch.code,
        stage: typed.stage,
        place: place.named(),
        lots: lots(&batch),
        reason: typed.reason,
    };
    let at = pen.next().happened_at;
    pen.append(entry::stage(staged, &batch, at, me.shop.say())?).await?;
    app.after(&mut pen, me, Touched::Batch(id)).await?;
    pen.commit().await
}

/// What moves with the batch: pieces that are still here and not released, and a mix that is not used up.
fn lots(batch: &Standing) -> Vec<LotId> {
    let pieces = batch.pieces.iter().filter(|piece| !piece.released && piece.lot.grams.is_positive());
    let mix = batch.mix.grams.is_positive().then_some(batch.mix.id);
    pieces.map(|piece| piece.lot.id).chain(mix).collect()
}

/// The sheet, filled in as the recipe plans it, or as it was refused.
pub async fn sheet(
    me: &Me,
    conn: &mut PgConnection,
    batch: &Standing,
    form: Option<StageForm>,
    errors: Errors,
) -> Result<String> {
    let places = setup::places(conn).await?;
    let step = next_step(&batch.steps, &batch.stages).and_then(|next| batch.steps.get(next));
    let form = form.unwrap_or_else(|| StageForm {
        stage: step.map(|step| step.stage.word().to_owned()).unwrap_or_default(),
        place: usual(batch, step.map(|step| step.stage), &places),
        ..StageForm::default()
    });
    let plan = match step {
        Some(step) => format!("The recipe has {} next, for {}.", step.stage.word(), lasts(step.hours)),
        None => "The recipe has no step left. Another stage needs a reason.".to_owned(),
    };
    let early = early(batch, me.now).map_or_else(String::new, |short| {
        let over = me.now + short;
        format!(
            " {} lasts until {} {}; before that the next stage needs a reason.",
            batch.stage.word(),
            ledger::day(me, over),
            ledger::time(me, over)
        )
    });
    let sheet = Sheet {
        id: batch.batch,
        form_id: fresh_id(),
        form,
        errors: &errors,
        title: step.map_or_else(|| "Put into a stage".into(), |step| format!("Next: {}", step.stage.word())),
        plan: format!("{plan}{early}"),
        stages: Stage::PLANNED.iter().map(|stage| Choice::new(stage.word(), stage.word())).collect(),
        places: places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect(),
    };
    Ok(sheet.render().map_err(anyhow::Error::from)?)
}

/// Where a stage usually is: cures in the curing fridge, what ferments or dries in a chamber, all else where it is.
fn usual(batch: &Standing, stage: Option<Stage>, places: &[setup::Place]) -> String {
    let kind = match stage {
        Some(Stage::Curing) => Some(PlaceKind::CuringFridge),
        Some(Stage::Fermenting | Stage::Drying) => Some(PlaceKind::Chamber),
        _ => None,
    };
    let here = batch.place.as_ref().map(|place| place.id);
    let stays = places.iter().find(|place| Some(place.id) == here);
    let fits = |place: &&setup::Place| kind.is_none_or(|kind| place.kind == kind);
    let place = stays.filter(fits).or_else(|| places.iter().find(fits)).or(stays);
    place.map(|place| place.id.to_string()).unwrap_or_default()
}
