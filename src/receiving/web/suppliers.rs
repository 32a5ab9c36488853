//! `/receiving/suppliers`: who brings it, and one more of them.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db::{self, SupplierRow};
use super::super::entry;
use super::rows;
use super::supplier_form::SupplierForm;
use crate::error::{Error, Errors, Result};
use crate::ids::SupplierId;
use crate::measure::day_year;
use crate::rights::Right;
use crate::rights::needs::Receive;
use crate::web::parts::{State as Mark, Tab};
use crate::web::{App, Area, Form, Frame, Me, Signer, fresh_id, ledger, page};

struct Row {
    href: String,
    name: String,
    number: String,
    approved: Mark,
    deliveries: String,
    last: String,
}

#[derive(Template)]
#[template(path = "receiving/suppliers.html")]
struct SuppliersPage {
    frame: Frame,
    tabs: Vec<Tab>,
    form_id: Uuid,
    form: SupplierForm,
    errors: Errors,
    rows: Vec<Row>,
    may_receive: bool,
    may_approve: bool,
    known: bool,
}

/// GET `/receiving/suppliers`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, SupplierForm::default(), Errors::default()).await
}

/// POST `/receiving/suppliers`
pub async fn add(State(app): State<App>, me: Signer<Receive>, form: Form<SupplierForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<SupplierForm>) -> Result<SupplierId> {
    let id = SupplierId::made_by(form.once.id()?);
    let may_approve = me.may(Right::Keep);
    let supplier = form.read(id, None, may_approve, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(id) };
    pen.append(entry::write_supplier(supplier, None, false, may_approve)?).await?;
    pen.commit().await?;
    Ok(id)
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: SupplierForm, errors: Errors) -> Result<Response> {
    let suppliers = db::supplier_rows(&mut *app.db().await?).await?;
    let page = SuppliersPage {
        frame: Frame::new(app, me, Area::Receiving),
        tabs: rows::tabs("/receiving/suppliers"),
        form_id: fresh_id(),
        form,
        errors,
        rows: suppliers.into_iter().map(|supplier| row(me, supplier)).collect(),
        may_receive: me.may(Right::Receive),
        may_approve: me.may(Right::Keep),
        known: false,
    };
    page::show(status, &page)
}

fn row(me: &Me, supplier: SupplierRow) -> Row {
    Row {
        href: supplier.id.path(),
        name: supplier.name,
        number: supplier.number,
        approved: approved(me, supplier.retired, supplier.approved_until),
        deliveries: supplier.deliveries.to_string(),
        last: supplier.last.map(|at| ledger::day(me, at)).unwrap_or_default(),
    }
}

/// How a supplier stands today.
pub fn approved(me: &Me, retired: bool, until: Option<time::Date>) -> Mark {
    match until {
        _ if retired => Mark::new("gone", "no longer used"),
        None => Mark::new("due", "not approved"),
        Some(day) if day < me.today() => Mark::new("out", format!("approval ended {}", day_year(day))),
        Some(day) => Mark::new("met", format!("approved until {}", day_year(day))),
    }
}
