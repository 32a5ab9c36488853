//! `/setup/instruments`: what figures are measured with.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db::{self, Instrument};
use super::in_use;
use crate::error::Result;
use crate::rights::Right;
use crate::web::parts::State as Mark;
use crate::web::{App, Area, Frame, Me, page};

struct Row {
    href: String,
    name: String,
    measures: &'static str,
    state: Mark,
}

#[derive(Template)]
#[template(path = "setup/instruments.html")]
struct InstrumentsPage {
    frame: Frame,
    rows: Vec<Row>,
    may_keep: bool,
}

/// GET `/setup/instruments`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let all = db::all_instruments(&mut *app.db().await?).await?;
    let (gone, used): (Vec<Instrument>, Vec<Instrument>) = all.into_iter().partition(|one| one.retired);
    let row = |one: Instrument| Row {
        href: one.id.path(),
        measures: one.measures.label(),
        state: in_use(one.retired),
        name: one.name,
    };
    let page = InstrumentsPage {
        frame: Frame::new(&app, &me, Area::Setup),
        rows: used.into_iter().chain(gone).map(row).collect(),
        may_keep: me.may(Right::Keep),
    };
    page::show(StatusCode::OK, &page)
}
