//! POST `/fermenting/{batch}/readings`: the pH of the batch and the temperature of its chamber in one go, judged at once.
//! POST `/fermenting/{batch}/judgement`: the run judged as it stands.

use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::{Duration, OffsetDateTime};

use super::super::{after, db};
use super::batch::ask;
use crate::book::Pen;
use crate::checks::{self, Value};
use crate::deviations::On;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, InstrumentId, LotId};
use crate::measure::{Celsius, Ph};
use crate::rights::needs::Check;
use crate::setup;
use crate::web::{App, Form, Me, Path, Reader, Signer, Touched, page};

/// A reading further back is taken for a slip in the date.
const FURTHEST_BACK: Duration = Duration::days(31);

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct TakeForm {
    /// The batch, or the piece that was measured.
    pub on: String,
    pub ph: String,
    pub meter: String,
    pub temperature: String,
    pub thermometer: String,
    pub when: String,
}

struct Typed {
    on: On,
    ph: Option<Ph>,
    meter: Option<InstrumentId>,
    temperature: Option<Celsius>,
    thermometer: Option<InstrumentId>,
    when: Option<OffsetDateTime>,
}

impl TakeForm {
    fn read(&self, me: &Me, batch: BatchId) -> Result<Typed, Errors> {
        let mut read = Reader::new(&me.shop);
        let on = match self.on.parse::<BatchId>() {
            Ok(id) if id == batch => Some(On::Batch(batch)),
            _ => read.value("on", &self.on, "Choose what was measured.").map(|lot: LotId| On::Lot(lot)),
        };
        let ph = if self.ph.trim().is_empty() { Some(None) } else { read.ph("ph", &self.ph).map(Some) };
        let temperature = read.maybe_temperature("temperature", &self.temperature);
        let meter = read.maybe("meter", &self.meter, "Choose what it was measured with.");
        let thermometer = read.maybe("thermometer", &self.thermometer, "Choose what it was measured with.");
        if self.ph.trim().is_empty() && self.temperature.trim().is_empty() {
            read.refuse("ph", "Give the pH, the temperature of the chamber, or both.");
        }
        let when = read.when(&self.when);
        if when.flatten().is_some_and(|when| me.now - when > FURTHEST_BACK) {
            read.refuse("when", "This is more than a month ago. Look at the date.");
        }
        read.finish(|| {
            Some(Typed {
                on: on?,
                ph: ph?,
                meter: meter?,
                temperature: temperature?,
                thermometer: thermometer?,
                when: when?,
            })
        })
    }
}

/// POST `/fermenting/{batch}/readings`
pub async fn take(
    With(app): With<App>,
    me: Signer<Check>,
    Path(id): Path<BatchId>,
    form: Form<TakeForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&format!("/fermenting/{id}")),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<TakeForm>) -> Result<()> {
    let typed = form.read(me, id)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let at = pen.next().happened_at;
    let run = db::run(&mut pen, id, at).await?.filter(|run| run.ferments).ok_or(Error::NotFound)?;
    if run.stuffed.is_none_or(|(stuffed, _)| at < stuffed) {
        return Err(Refusal::at(
            "when",
            "The batch was not stuffed then. The count starts with the stuffing.",
        )
        .into());
    }
    if let On::Lot(lot) = typed.on {
        let pieces = db::subjects(&mut pen, id).await?;
        if !pieces.iter().any(|one| one.value == lot.to_string()) {
            return Err(Refusal::at("on", "This piece is not of this batch.").into());
        }
    }
    known(&mut pen, "meter", typed.meter).await?;
    known(&mut pen, "thermometer", typed.thermometer).await?;
    // Both are signed before anything is judged: what was measured together counts together.
    if let Some(ph) = typed.ph {
        checks::take(&mut pen, me, typed.on, Value::Ph(ph), typed.meter, false).await?;
    }
    if let Some(temperature) = typed.temperature {
        let place = db::stood_in(&mut pen, id, at).await?.ok_or_else(|| {
            Refusal::at("temperature", "The batch stands nowhere, so there is no chamber to read.")
        })?;
        let value = Value::Temperature(temperature);
        checks::take(&mut pen, me, On::Place(place), value, typed.thermometer, false).await?;
        app.after(&mut pen, me, Touched::Place(place)).await?;
    }
    app.after(&mut pen, me, Touched::Batch(id)).await?;
    pen.commit().await
}

/// What something was measured with is in the shop's list.
async fn known(pen: &mut Pen, field: &'static str, instrument: Option<InstrumentId>) -> Result<()> {
    let Some(id) = instrument else { return Ok(()) };
    match setup::instrument(pen, id).await? {
        Some(_) => Ok(()),
        None => Err(Refusal::at(field, "There is no such instrument.").into()),
    }
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct JudgeForm {}

/// POST `/fermenting/{batch}/judgement`
pub async fn judge(
    With(app): With<App>,
    me: Signer<Check>,
    Path(id): Path<BatchId>,
    form: Form<JudgeForm>,
) -> Result<Response> {
    match judged(&app, &me, id, &form).await {
        Ok(()) => page::goto(&format!("/fermenting/{id}")),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, TakeForm::default(), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn judged(app: &App, me: &Me, id: BatchId, form: &Form<JudgeForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let now = pen.next().recorded_at;
    let run = db::run(&mut pen, id, now).await?.filter(|run| run.ferments).ok_or(Error::NotFound)?;
    let adopted = db::adopted(&mut pen).await?;
    let adopted =
        adopted.ok_or_else(|| Refusal::of("No rule set is adopted yet. There is nothing to judge by."))?;
    let last = db::last_judged(&mut pen, &[id]).await?.pop();
    let reckoned = run.reckon(&adopted.adopted);
    after::sign(&mut pen, &run, &adopted.adopted, reckoned, last.is_none_or(|last| !last.open)).await?;
    pen.commit().await
}
