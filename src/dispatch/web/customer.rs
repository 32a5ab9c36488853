//! `/dispatch/customers/{id}`: what a customer is called, where they are, what they received.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::super::db;
use super::customers::CustomerForm;
use super::index::{DocketRow, docket_rows};
use crate::error::{Error, Errors, Result};
use crate::ids::CustomerId;
use crate::rights::Right;
use crate::rights::needs::Dispatch;
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, fresh_id, page};

/// How many dockets the page lists.
const LISTED: i64 = 60;

#[derive(Template)]
#[template(path = "dispatch/customer.html")]
struct CustomerPage {
    frame: Frame,
    id: CustomerId,
    name: String,
    retired: bool,
    form_id: Uuid,
    form: CustomerForm,
    errors: Errors,
    dockets: Vec<DocketRow>,
    may: bool,
}

/// GET `/dispatch/customers/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<CustomerId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/dispatch/customers/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Dispatch>,
    Path(id): Path<CustomerId>,
    form: Form<CustomerForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: CustomerId, form: &Form<CustomerForm>) -> Result<()> {
    db::customer(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let written = form.read(id, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(written).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: CustomerId,
    form: Option<CustomerForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let customer = db::customer(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let until = me.now + Duration::days(1);
    let sent = db::sent(&mut conn, OffsetDateTime::UNIX_EPOCH, until, Some(id), LISTED).await?;
    let page = CustomerPage {
        frame: Frame::new(app, me, Area::Dispatch),
        id,
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| CustomerForm::of(&customer)),
        name: customer.name,
        retired: customer.retired,
        errors,
        dockets: docket_rows(me, &sent),
        may: me.may(Right::Dispatch),
    };
    page::show(status, &page)
}
