//! `/dispatch/new`: the list of what leaves, to whom, and one signature.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::Leaving;
use super::super::entry::docket::{self, DocketLine, LotsDispatched, Party};
use super::draft::{self, DraftForm, LineView, TypedLine};
use crate::book::Pen;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{CustomerId, DispatchId, Named};
use crate::rights::Right;
use crate::rights::needs::Dispatch;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

/// How many lots that are ready the page offers.
const READY: i64 = 24;
/// What the list of customers says for nobody in particular.
const COUNTER: &str = "counter";

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Begin {
    customer: String,
    lots: String,
}

/// What the form says, before the book is asked.
struct Typed {
    /// None over the counter.
    customer: Option<CustomerId>,
    consignor: String,
    when: Option<time::OffsetDateTime>,
    lines: Vec<TypedLine>,
}

fn read(form: &DraftForm, shop: &Shop) -> Result<Typed, Errors> {
    let mut read = Reader::new(shop);
    let customer = if form.customer == COUNTER {
        Some(None)
    } else {
        read.value("customer", &form.customer, "Choose who receives it.").map(Some)
    };
    let lines = form.read_lines(&mut read);
    let consignor = read.note_or_empty("consignor", &form.consignor);
    let when = read.when(&form.when);
    read.finish(|| Some(Typed { customer: customer?, consignor: consignor?, when: when?, lines: lines? }))
}

#[derive(Template)]
#[template(path = "dispatch/new.html")]
struct NewPage {
    frame: Frame,
    form_id: Uuid,
    form: DraftForm,
    errors: Errors,
    may: bool,
    customers: Vec<Choice>,
    lines: Vec<LineView>,
    ready: Vec<Choice>,
    price_unit: String,
}

/// GET `/dispatch/new?customer=…&lots=CODE,CODE`
pub async fn page(State(app): State<App>, me: Me, Query(begin): Query<Begin>) -> Result<Response> {
    let mut form = DraftForm { customer: begin.customer, code: begin.lots, ..DraftForm::default() };
    let errors = form.redraw(&mut *app.db().await?, &me.shop, may_leave).await?;
    ask(&app, &me, StatusCode::OK, form, errors).await
}

/// POST `/dispatch/new`
pub async fn sign_or_draft(
    State(app): State<App>,
    me: Signer<Dispatch>,
    form: Form<DraftForm>,
) -> Result<Response> {
    if form.drafting() {
        let mut fields = form.fields;
        let errors = fields.redraw(&mut *app.db().await?, &me.shop, may_leave).await?;
        let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
        return ask(&app, &me, status, fields, errors).await;
    }
    match sign(&app, &me, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

fn may_leave(leaving: &Leaving) -> Result<(), Refusal> {
    leaving.lot.usable("code")?;
    leaving.for_sale("code")
}

async fn sign(app: &App, me: &Me, form: &Form<DraftForm>) -> Result<DispatchId> {
    let typed = read(form, &me.shop)?;
    let id = DispatchId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(id) };
    let lots = draft::lots_of(&mut pen, &typed.lines).await?;
    let docket = dispatched(&mut pen, me, id, typed, &lots).await?;
    pen.append(docket::dispatch(docket, &lots, &me.shop.say())?).await?;
    pen.commit().await?;
    Ok(id)
}

/// Fills in what the book knows: the parties, the docket's number, the names.
async fn dispatched(
    pen: &mut Pen,
    me: &Me,
    dispatch: DispatchId,
    typed: Typed,
    lots: &[Leaving],
) -> Result<LotsDispatched> {
    let customer = match typed.customer {
        Some(id) => Some(customer_in_use(pen, id).await?),
        None => None,
    };
    let day = me.shop.date(pen.next().happened_at);
    let reference = db::next_reference(pen, day).await?;
    let mut lines = Vec::with_capacity(lots.len());
    for (n, (line, lot)) in typed.lines.iter().zip(lots).enumerate() {
        let weight = draft::weight_of(line, lot, n, &me.shop)?;
        let description = lot.description.clone();
        lines.push(DocketLine { lot: lot.lot.named(), description, weight, price: line.price });
    }
    let named = |c: &db::Customer| Named::new(c.id, c.name.clone());
    let party = |c: &db::Customer| Party { name: c.name.clone(), address: c.address.clone() };
    Ok(LotsDispatched {
        dispatch,
        reference,
        from: Party { name: me.shop.name.clone(), address: me.shop.address.clone() },
        consignor: typed.consignor,
        consignee: customer.as_ref().map(|c| c.consignee.clone()).unwrap_or_default(),
        to: customer.as_ref().map(party),
        customer: customer.as_ref().map(named),
        lines,
    })
}

async fn customer_in_use(pen: &mut Pen, id: CustomerId) -> Result<db::Customer> {
    let customer = db::customer(pen, id).await?;
    let customer = customer.ok_or_else(|| Refusal::at("customer", "There is no such customer."))?;
    if customer.retired {
        let message = format!("{} is no longer used. Take them up again first.", customer.name);
        return Err(Refusal::at("customer", message).into());
    }
    Ok(customer)
}

/// The one place that draws this page.
async fn ask(app: &App, me: &Me, status: StatusCode, form: DraftForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let lines = form.views(&mut conn, &me.shop).await?;
    let customers = db::customers(&mut conn).await?;
    let customers = customers.into_iter().filter(|customer| !customer.retired);
    let listed = customers.map(|customer| Choice::new(customer.id, customer.name));
    let ready = db::ready(&mut conn, READY).await?.into_iter();
    let ready = ready.filter(|row| !form.lot.contains(&row.lot.to_string()));
    let ready = ready.map(|row| Choice::new(row.code, row.item_name).note(me.shop.weight(row.grams)));
    let page = NewPage {
        frame: Frame::new(app, me, Area::Dispatch),
        form_id: fresh_id(),
        customers: std::iter::once(Choice::new(COUNTER, "over the counter")).chain(listed).collect(),
        lines,
        ready: ready.collect(),
        price_unit: format!("{} per {}", me.shop.currency.code(), me.shop.weight_unit().symbol()),
        form,
        errors,
        may: me.may(Right::Dispatch),
    };
    page::show(status, &page)
}
