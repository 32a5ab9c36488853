//! `/trace/customers/{id}` and `/trace/dispatches/{id}`: what went out, and all that it came from.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db::{self, Direction, Sending};
use super::super::flow::{self, Flow};
use super::rows::{Way, tree};
use super::{Scope, draw};
use crate::book::{Account, Side};
use crate::error::{Error, Result};
use crate::ids::{CustomerId, DispatchId, LotId};
use crate::measure::Grams;
use crate::web::ledger::day;
use crate::web::parts::{Picture, TreeRow};
use crate::web::{App, Area, Frame, Me, Path, page};

/// The most lines that the page lists.
const LINES: i64 = 200;

struct Row {
    day: String,
    docket: String,
    docket_href: String,
    code: String,
    href: String,
    what: String,
    weight: String,
}

#[derive(Template)]
#[template(path = "trace/sent.html")]
struct SentPage {
    frame: Frame,
    heading: String,
    beneath: String,
    beneath_href: String,
    rows: Vec<Row>,
    total: String,
    picture: Option<Picture>,
    back: Vec<TreeRow>,
}

/// GET `/trace/customers/{id}`
pub async fn customer(State(app): State<App>, me: Me, Path(id): Path<CustomerId>) -> Result<Response> {
    let (name, lines) = db::sent_to(&mut *app.db().await?, id, LINES).await?.ok_or(Error::NotFound)?;
    draw(&app, &me, format!("What went to {name}"), None, &lines).await
}

/// GET `/trace/dispatches/{id}`
pub async fn dispatch(State(app): State<App>, me: Me, Path(id): Path<DispatchId>) -> Result<Response> {
    let found = db::sent_in(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let (reference, customer, lines) = found;
    draw(&app, &me, format!("What went out on {reference}"), customer, &lines).await
}

async fn draw(
    app: &App,
    me: &Me,
    heading: String,
    customer: Option<(CustomerId, String)>,
    lines: &[Sending],
) -> Result<Response> {
    let lots: Vec<LotId> = lines.iter().map(|line| line.lot).collect();
    let here: BTreeSet<LotId> = lots.iter().copied().collect();
    let mut conn = app.db().await?;
    let behind = db::lineage(&mut conn, &lots, Direction::Back).await?;
    let names = db::names(&mut conn, behind.lots.iter().copied()).await?;
    drop(conn);
    let ways = flow::back(&behind.steps, &here);
    let (flow, on) = (Flow::default(), BTreeSet::new());
    let scope = Scope { me, names: &names, links: &ways, here: &here, flow: &flow, on: &on };
    let total: Grams = lines.iter().map(|line| line.grams).sum();
    let page = SentPage {
        frame: Frame::new(app, me, Area::Trace),
        picture: draw::picture(&scope, format!("{heading}, and all that it came from")),
        back: tree(&scope, Way::Back),
        heading,
        beneath_href: customer
            .as_ref()
            .map(|(id, _)| super::rows::address(Side::Account(Account::Customer, Some(id.0))))
            .unwrap_or_default(),
        beneath: customer.map(|(_, name)| format!("to {name}")).unwrap_or_default(),
        rows: lines.iter().map(|line| row(me, line)).collect(),
        total: me.shop.weight(total),
    };
    page::show(StatusCode::OK, &page)
}

fn row(me: &Me, line: &Sending) -> Row {
    Row {
        day: day(me, line.at),
        docket: line.reference.clone(),
        docket_href: format!("/trace/dispatches/{}", line.dispatch),
        code: line.code.to_string(),
        href: format!("/trace/lots/{}", line.lot),
        what: line.description.clone(),
        weight: me.shop.weight(line.grams),
    }
}
