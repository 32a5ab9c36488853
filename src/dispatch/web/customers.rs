//! `/dispatch/customers`: who receives, and adding one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::customer::CustomerWritten;
use super::{one_line, tabs};
use crate::error::{Error, Errors, Result};
use crate::ids::CustomerId;
use crate::rights::Right;
use crate::rights::needs::Dispatch;
use crate::web::parts::Tab;
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct CustomerForm {
    pub name: String,
    pub address: String,
    pub consignee: String,
    pub contact: String,
    pub retired: String,
}

impl CustomerForm {
    pub(super) fn of(customer: &db::Customer) -> Self {
        Self {
            name: customer.name.clone(),
            address: customer.address.clone(),
            consignee: customer.consignee.clone(),
            contact: customer.contact.clone(),
            retired: if customer.retired { "yes".into() } else { String::new() },
        }
    }

    pub(super) fn read(&self, customer: CustomerId, shop: &Shop) -> Result<CustomerWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Enter the customer's name.");
        let missing = "Enter the address: every docket to a business carries it.";
        let address = read.note("address", &self.address, missing);
        let consignee = read.note_or_empty("consignee", &self.consignee);
        let contact = read.line_or_empty("contact", &self.contact);
        let retired = self.retired == "yes";
        read.finish(|| {
            Some(CustomerWritten {
                customer,
                name: name?,
                address: address?,
                consignee: consignee?,
                contact: contact?,
                retired,
            })
        })
    }
}

struct Row {
    href: String,
    name: String,
    address: String,
    contact: String,
    retired: bool,
}

#[derive(Template)]
#[template(path = "dispatch/customers.html")]
struct CustomersPage {
    frame: Frame,
    tabs: Vec<Tab>,
    form_id: Uuid,
    form: CustomerForm,
    errors: Errors,
    rows: Vec<Row>,
    may: bool,
}

/// GET `/dispatch/customers`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, CustomerForm::default(), Errors::default()).await
}

/// POST `/dispatch/customers`
pub async fn add(State(app): State<App>, me: Signer<Dispatch>, form: Form<CustomerForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/dispatch/customers"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<CustomerForm>) -> Result<()> {
    let written = form.read(CustomerId::made_by(form.once.id()?), &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(written).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(app: &App, me: &Me, status: StatusCode, form: CustomerForm, errors: Errors) -> Result<Response> {
    let customers = db::customers(&mut *app.db().await?).await?;
    let rows = customers.into_iter().map(|customer| Row {
        href: customer.id.path(),
        name: customer.name,
        address: one_line(&customer.address),
        contact: customer.contact,
        retired: customer.retired,
    });
    let page = CustomersPage {
        frame: Frame::new(app, me, Area::Dispatch),
        tabs: tabs("/dispatch/customers"),
        form_id: fresh_id(),
        form,
        errors,
        rows: rows.collect(),
        may: me.may(Right::Dispatch),
    };
    page::show(status, &page)
}
