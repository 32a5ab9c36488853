//! `/drying/{batch}`: how far each piece of a batch has dried, what it is dried to, and when it may be there.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;
use sqlx::PgConnection;
use uuid::Uuid;

use super::super::db::{self, Batch, Target};
use super::super::entry::{DryingTargetWritten, MOST_RATIO, write_target};
use super::super::forecast::{Ahead, History, Weighed};
use super::super::{FOR_PLANNING, found, path, stalls};
use super::rows::{self, Row};
use crate::checks::{Quantity, Value};
use crate::error::{Error, Errors, Result};
use crate::evidence::Found;
use crate::ids::{BatchId, Named};
use crate::rights::Right;
use crate::rights::needs::Cure;
use crate::web::parts::{Figure, Notice, Stand, State};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct TargetForm {
    pub water_activity: String,
    pub ph: String,
    pub moisture_protein: String,
    pub source: String,
}

#[derive(Template)]
#[template(path = "drying/batch.html")]
struct BatchPage {
    frame: Frame,
    id: BatchId,
    form_id: Uuid,
    form: TargetForm,
    errors: Errors,
    code: String,
    product: String,
    href: String,
    stage: String,
    figures: Vec<Figure>,
    rows: Vec<Row>,
    warnings: Vec<Notice>,
    targets: Vec<Stand>,
    /// How the forecast of one of its pieces was made; empty where there is none.
    how: String,
    /// How earlier forecasts came out; empty as long as there are too few to say.
    came_out: String,
    for_planning: &'static str,
    may_cure: bool,
}

/// GET `/drying/{batch}`
pub async fn page(With(app): With<App>, me: Me, Path(id): Path<BatchId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/drying/{batch}`: writes the targets of the batch's product.
pub async fn write(
    With(app): With<App>,
    me: Signer<Cure>,
    Path(id): Path<BatchId>,
    form: Form<TargetForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&path(id)),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<TargetForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let empty = |text: &str| text.trim().is_empty();
    let water_activity = if empty(&form.water_activity) {
        Some(None)
    } else {
        read.water_activity("water_activity", &form.water_activity).map(Some)
    };
    let ph = if empty(&form.ph) { Some(None) } else { read.ph("ph", &form.ph).map(Some) };
    let moisture_protein = if empty(&form.moisture_protein) {
        Some(None)
    } else {
        read.decimal("moisture_protein", &form.moisture_protein, Decimal::ZERO, MOST_RATIO).map(Some)
    };
    let source =
        read.line("source", &form.source, "Say where the figures come from, if only: the shop's own plan.");
    let (water_activity, ph, moisture_protein, source) =
        read.finish(|| Some((water_activity?, ph?, moisture_protein?, source?)))?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let batch = db::batch(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let product = Named::new(batch.product, batch.product_name);
    pen.append(write_target(DryingTargetWritten { product, water_activity, ph, moisture_protein, source })?)
        .await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: BatchId,
    form: Option<TargetForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let batch = db::batch(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let history = db::history(&mut conn, id).await?;
    let pieces: Vec<&Weighed> = history.of_batch(id).collect();
    let hanging: Vec<&Weighed> = pieces.iter().copied().filter(|piece| piece.on_hand).collect();
    let lots: Vec<_> = hanging.iter().map(|piece| piece.lot).collect();
    let warnings = stalls(&mut conn, &lots).await?;
    let target = db::target(&mut conn, batch.product).await?;
    let targets = targets(me, &mut conn, id, target.as_ref()).await?;
    let page = BatchPage {
        frame: Frame::new(app, me, Area::Batches),
        id,
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| drawn(target.as_ref())),
        errors,
        code: batch.code.to_string(),
        href: id.path(),
        stage: stage(&batch),
        product: batch.product_name,
        figures: rows::figures(me, if hanging.is_empty() { &pieces } else { &hanging }),
        rows: pieces.iter().map(|piece| rows::row(me, &history, piece)).collect(),
        warnings: warnings.into_iter().map(|stall| Notice::new("late", stall.text)).collect(),
        targets,
        how: how(&history, &pieces),
        came_out: history.came_out().unwrap_or_default(),
        for_planning: FOR_PLANNING,
        may_cure: me.may(Right::Cure),
    };
    page::show(status, &page)
}

fn stage(batch: &Batch) -> String {
    batch.stage.clone()
}

/// How the forecast of the piece that is looked ahead of furthest was made.
fn how(history: &History, pieces: &[&Weighed]) -> String {
    let foretold = pieces.iter().filter_map(|piece| match history.ahead(piece) {
        Ahead::Foretold(forecast) => Some((piece.code.to_string(), forecast)),
        _ => None,
    });
    let furthest = foretold.max_by_key(|(_, forecast)| forecast.at);
    furthest.map(|(code, forecast)| format!("{code}: {}", forecast.how())).unwrap_or_default()
}

fn drawn(target: Option<&Target>) -> TargetForm {
    let text = |figure: Option<Decimal>| figure.map(|one| one.normalize().to_string()).unwrap_or_default();
    target.map_or_else(TargetForm::default, |target| TargetForm {
        water_activity: text(target.water_activity),
        ph: text(target.ph),
        moisture_protein: text(target.moisture_protein),
        source: target.source.clone(),
    })
}

/// Each thing that the product is dried to, and how it stands by what is recorded.
async fn targets(
    me: &Me,
    conn: &mut PgConnection,
    id: BatchId,
    target: Option<&Target>,
) -> Result<Vec<Stand>> {
    let mut stands = vec![stand("Loss of green weight", &found::loss_found_of_batch(conn, id, None).await?)];
    let Some(target) = target else { return Ok(stands) };
    let latest = db::latest(conn, id).await?;
    for (name, quantity, most) in
        [("Water activity", Quantity::WaterActivity, target.water_activity), ("pH", Quantity::Ph, target.ph)]
    {
        let Some(most) = most else { continue };
        let most = Value::of(quantity, most).map_err(anyhow::Error::from)?.text(me.shop.system);
        let last = latest.iter().find(|one| one.quantity == quantity.word());
        let found = match last {
            None => Found::not_yet(format!("{most} or less; not measured yet.")),
            Some(last) => {
                let value = Value::of(quantity, last.value).map_err(anyhow::Error::from)?;
                let said = format!(
                    "{} on {}, target {most} or less",
                    value.text(me.shop.system),
                    ledger::day(me, last.at)
                );
                let within = match quantity {
                    Quantity::Ph => target.ph,
                    _ => target.water_activity,
                };
                if within.is_some_and(|most| last.value <= most) {
                    Found::met(said, vec![last.seq])
                } else {
                    Found::not_yet(format!("{said}."))
                }
            }
        };
        stands.push(stand(name, &found));
    }
    if let Some(ratio) = target.moisture_protein {
        let missing =
            format!("{} or less; by a laboratory's report, which is looked at by hand.", ratio.normalize());
        stands.push(stand("Moisture to protein", &Found::not_yet(missing)));
    }
    Ok(stands)
}

fn stand(what: &str, found: &Found) -> Stand {
    let (state, note, href) = match found {
        Found::Met { figure, by } => {
            let href = match by.as_slice() {
                [one] => format!("/entries/{one}"),
                _ => String::new(),
            };
            (State::new("met", "met"), figure.clone(), href)
        }
        Found::NotYet { missing } => (State::new("wait", "not yet"), missing.clone(), String::new()),
        Found::Failed { what, .. } => (State::new("out", "not met"), what.clone(), String::new()),
    };
    Stand { state, what: what.into(), note, href }
}
