//! `/receiving/suppliers/{id}`: one supplier, what it brought, and changing what the shop knows of it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db::{self, Supplier, SupplierLot};
use super::super::entry;
use super::rows::DeliveryRow;
use super::supplier_form::SupplierForm;
use super::suppliers::approved;
use crate::book::{self, Seq};
use crate::error::{Error, Errors, Result};
use crate::ids::SupplierId;
use crate::rights::Right;
use crate::rights::needs::Receive;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Fact, Line, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, Topic, fresh_id, page};

/// How many deliveries, lots and lines of the book the page shows.
const DELIVERIES: i64 = 20;
const LOTS: i64 = 60;
const LINES: i64 = 400;

struct LotRow {
    href: String,
    code: String,
    name: String,
    day: String,
    received: String,
    on_hand: String,
    held: bool,
}

#[derive(Template)]
#[template(path = "receiving/supplier.html")]
struct SupplierPage {
    frame: Frame,
    /// What later rooms add, each a section of HTML.
    added: Vec<String>,
    id: SupplierId,
    supplier_name: String,
    standing: Mark,
    facts: Vec<Fact>,
    form_id: Uuid,
    form: SupplierForm,
    errors: Errors,
    deliveries: Vec<DeliveryRow>,
    lots: Vec<LotRow>,
    /// What the book says of the supplier itself.
    lines: Vec<Line>,
    may_receive: bool,
    may_approve: bool,
    known: bool,
}

/// GET `/receiving/suppliers/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<SupplierId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/receiving/suppliers/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Receive>,
    Path(id): Path<SupplierId>,
    form: Form<SupplierForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: SupplierId, form: &Form<SupplierForm>) -> Result<()> {
    let may_approve = me.may(Right::Keep);
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let before = db::supplier(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let supplier = form.read(id, Some(&before), may_approve, &me.shop)?;
    let supplier = entry::write_supplier(supplier, before.approved_until, before.retired, may_approve)?;
    pen.append(supplier).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: SupplierId,
    form: Option<SupplierForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let supplier = db::supplier(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let deliveries = db::deliveries(&mut conn, Some(id), Seq(i64::MAX), DELIVERIES).await?;
    let lots = db::lots_of(&mut conn, id, LOTS).await?;
    let mut entries = book::db::about(&mut conn, id.0, LINES).await?;
    entries.retain(|entry| entry.kind == <entry::SupplierWritten as book::Entry>::KIND);
    let page = SupplierPage {
        frame: Frame::new(app, me, Area::Receiving),
        added: app.parts(me, Topic::Supplier(id)).await?,
        id,
        supplier_name: supplier.name.clone(),
        standing: approved(me, supplier.retired, supplier.approved_until),
        facts: facts(&supplier),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| SupplierForm::of(&supplier)),
        errors,
        deliveries: deliveries.into_iter().map(|row| DeliveryRow::dated(me, row)).collect(),
        lots: lots.into_iter().map(|lot| lot_row(me, lot)).collect(),
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
        may_receive: me.may(Right::Receive),
        may_approve: me.may(Right::Keep),
        known: true,
    };
    page::show(status, &page)
}

fn facts(supplier: &Supplier) -> Vec<Fact> {
    let or_none = |text: &str| if text.is_empty() { "none noted".to_owned() } else { text.to_owned() };
    vec![
        Fact::new("Establishment or approval number", or_none(&supplier.number)),
        Fact::new("Address", or_none(&supplier.address.replace('\n', ", "))),
        Fact::new("Contact", or_none(&supplier.contact)),
        Fact::new("Papers held", or_none(&supplier.papers.replace('\n', ", "))),
    ]
}

fn lot_row(me: &Me, lot: SupplierLot) -> LotRow {
    LotRow {
        href: lot.lot.path(),
        code: lot.code.to_string(),
        name: lot.item_name,
        day: ledger::day(me, lot.happened_at),
        received: me.shop.weight(lot.received),
        on_hand: me.shop.weight(lot.on_hand),
        held: lot.held,
    }
}
