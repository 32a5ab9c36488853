//! `/costs/method`: how the shop shares the cost of a source over its cuts.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{CostMethodWritten, Method, SharedBy};
use crate::error::{Error, Errors, Result};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::standards::joint_cost::By;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct MethodForm {
    by: String,
    by_products_first: String,
}

impl MethodForm {
    fn of(method: Method) -> Self {
        let by = match method.by {
            By::Weight => SharedBy::Weight,
            By::SalesValue => SharedBy::SalesValue,
        };
        let first = if method.by_products_first { "yes" } else { "" };
        Self { by: by.word().into(), by_products_first: first.into() }
    }

    fn read(&self, shop: &Shop) -> Result<CostMethodWritten, Errors> {
        let mut read = Reader::new(shop);
        let by = read.value("by", &self.by, "Choose by what the cost is shared.");
        let by_products_first = self.by_products_first == "yes";
        read.finish(|| Some(CostMethodWritten { by: by?, by_products_first }))
    }
}

#[derive(Template)]
#[template(path = "costs/method.html")]
struct MethodPage {
    frame: Frame,
    form_id: Uuid,
    form: MethodForm,
    errors: Errors,
    ways: Vec<Choice>,
    now: String,
    may_keep: bool,
}

/// GET `/costs/method`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, Errors::default()).await
}

/// POST `/costs/method`
pub async fn write(State(app): State<App>, me: Signer<Keep>, form: Form<MethodForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/costs/method"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<MethodForm>) -> Result<()> {
    let written = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(written).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    form: Option<MethodForm>,
    errors: Errors,
) -> Result<Response> {
    let method = db::method(&mut *app.db().await?).await?;
    let page = MethodPage {
        frame: Frame::new(app, me, Area::Yields),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| MethodForm::of(method)),
        errors,
        ways: vec![
            Choice::new("weight", "By weight").note("every kilogram carries the same"),
            Choice::new("sales value", "By sales value").note("what sells for more carries more"),
        ],
        now: method.words(),
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
