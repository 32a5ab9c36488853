//! `/receiving/deliveries/new`: a docket is opened at the door.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, DeliveryReceived};
use super::suppliers::approved;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{DeliveryId, SupplierId};
use crate::measure::Celsius;
use crate::rights::needs::Receive;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct OpenForm {
    supplier: String,
    docket: String,
    vehicle: String,
    when: String,
    /// "yes": another docket with the same number.
    again: String,
}

struct Typed {
    supplier: SupplierId,
    docket: String,
    vehicle: Option<Celsius>,
    when: Option<OffsetDateTime>,
}

impl OpenForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let supplier = read.value("supplier", &self.supplier, "Choose the supplier.");
        let docket = read.line_or_empty("docket", &self.docket);
        let vehicle = read.maybe_temperature("vehicle", &self.vehicle);
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { supplier: supplier?, docket: docket?, vehicle: vehicle?, when: when? }))
    }
}

#[derive(Template)]
#[template(path = "receiving/open.html")]
struct OpenPage {
    frame: Frame,
    form_id: Uuid,
    form: OpenForm,
    errors: Errors,
    suppliers: Vec<Choice>,
    temperature_unit: String,
    /// Whether the number was taken in before, so that the form asks.
    asks_again: bool,
}

/// GET `/receiving/deliveries/new`, with the supplier chosen where `?supplier=` says it.
pub async fn page(
    State(app): State<App>,
    me: Signer<Receive>,
    Query(chosen): Query<OpenForm>,
) -> Result<Response> {
    let form = OpenForm { supplier: chosen.supplier, ..OpenForm::default() };
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/receiving/deliveries/new`
pub async fn open(State(app): State<App>, me: Signer<Receive>, form: Form<OpenForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<OpenForm>) -> Result<DeliveryId> {
    let typed = form.read(&me.shop)?;
    let id = DeliveryId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(id) };
    let supplier = db::supplier(&mut pen, typed.supplier).await?.filter(|supplier| !supplier.retired);
    let supplier = supplier.ok_or_else(|| Refusal::at("supplier", "There is no such supplier in use."))?;
    let same = db::same_docket(&mut pen, supplier.id, &typed.docket).await?.map(|at| me.shop.date(at));
    let day = me.shop.date(pen.next().happened_at);
    let delivery = DeliveryReceived {
        delivery: id,
        supplier: supplier.named(),
        docket: typed.docket,
        vehicle: typed.vehicle,
    };
    pen.append(entry::open(delivery, same, form.again == "yes", day, me.today())?).await?;
    pen.commit().await?;
    Ok(id)
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: OpenForm, errors: Errors) -> Result<Response> {
    let suppliers = db::suppliers(&mut *app.db().await?).await?;
    let choices = suppliers.into_iter().map(|supplier| {
        let standing = approved(me, supplier.retired, supplier.approved_until);
        let choice = Choice::new(supplier.id, supplier.name);
        if standing.mark == "met" { choice } else { choice.note(standing.word) }
    });
    let page = OpenPage {
        frame: Frame::new(app, me, Area::Receiving),
        form_id: fresh_id(),
        asks_again: form.again == "yes" || errors.of("docket").is_some(),
        form,
        errors,
        suppliers: choices.collect(),
        temperature_unit: me.shop.temperature_unit().to_string(),
    };
    page::show(status, &page)
}
