//! `/recipes`: every recipe in its last version.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use crate::error::Result;
use crate::recipes::db::{self, Listed};
use crate::rights::Right;
use crate::web::{App, Area, Frame, Me, ledger, page};

struct Row {
    href: String,
    name: String,
    kind: &'static str,
    product: String,
    version: String,
    written: String,
}

#[derive(Template)]
#[template(path = "recipes/index.html")]
struct IndexPage {
    frame: Frame,
    rows: Vec<Row>,
    aside: Vec<Row>,
    may_write: bool,
}

/// GET `/recipes`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let (aside, rows): (Vec<_>, Vec<_>) =
        db::listed(&mut *app.db().await?).await?.into_iter().partition(|recipe| recipe.retired);
    let row = |recipe: Listed| Row {
        href: recipe.id.path(),
        name: recipe.name,
        kind: recipe.kind.word(),
        product: recipe.product_name,
        version: recipe.version.to_string(),
        written: ledger::day(&me, recipe.written_at),
    };
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Recipes),
        rows: rows.into_iter().map(row).collect(),
        aside: aside.into_iter().map(row).collect(),
        may_write: me.may(Right::Cure),
    };
    page::show(StatusCode::OK, &page)
}
