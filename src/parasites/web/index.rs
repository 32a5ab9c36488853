//! `/parasites`: the products with their controls, and the batches under way.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db;
use super::super::entry::Control;
use super::{Sheet, tabs};
use crate::error::Result;
use crate::rights::Right;
use crate::standards::trichinella::CAUTION;
use crate::web::parts::Tab;
use crate::web::{App, Area, Frame, Me, page};

struct Row {
    href: String,
    name: String,
    control: &'static str,
    document: String,
}

struct BatchLine {
    href: String,
    code: String,
    name: String,
}

#[derive(Template)]
#[template(path = "parasites/index.html")]
struct IndexPage {
    frame: Frame,
    tabs: Vec<Tab>,
    caution: &'static str,
    rows: Vec<Row>,
    batches: Vec<BatchLine>,
    may_keep: bool,
}

/// GET `/parasites`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let row = |product: db::Product| {
        let control = product.control.as_deref().and_then(|key| key.parse::<Control>().ok());
        Row {
            href: format!("/parasites/products/{}", product.product),
            name: product.name,
            control: control.map_or("not chosen yet", Control::words),
            document: product.document.unwrap_or_default(),
        }
    };
    let rows = db::products(&mut conn).await?.into_iter().map(row).collect();
    let batches = db::batches(&mut conn).await?.into_iter().map(|(id, code, name)| BatchLine {
        href: format!("/parasites/{id}"),
        code: code.to_string(),
        name,
    });
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Checks),
        tabs: tabs(Sheet::Products),
        caution: CAUTION,
        rows,
        batches: batches.collect(),
        may_keep: me.may(Right::Keep),
    };
    page::show(StatusCode::OK, &page)
}
