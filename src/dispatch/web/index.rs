//! `/dispatch`: what left, to whom, which lots.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use time::{Duration, OffsetDateTime};

use super::super::db::{self, Sent};
use super::tabs;
use crate::error::{Errors, Result};
use crate::measure::{Grams, input_day};
use crate::rights::Right;
use crate::web::parts::Tab;
use crate::web::{App, Area, Frame, Me, ledger, page};

/// How many dockets the page lists.
const LISTED: i64 = 60;

/// A docket in a list.
pub struct DocketRow {
    pub href: String,
    pub reference: String,
    pub when: String,
    pub to: String,
    pub what: String,
    pub weight: String,
    pub struck: bool,
}

/// One row a docket, in the order of the lines.
pub(super) fn docket_rows(me: &Me, sent: &[Sent]) -> Vec<DocketRow> {
    let dockets = sent.chunk_by(|a, b| a.dispatch == b.dispatch);
    dockets.filter_map(|lines| lines.first().map(|first| docket_row(me, first, lines))).collect()
}

fn docket_row(me: &Me, first: &Sent, lines: &[Sent]) -> DocketRow {
    let weight: Grams = lines.iter().map(|line| line.grams).sum();
    let what: Vec<String> = lines.iter().map(|line| format!("{} {}", line.description, line.code)).collect();
    DocketRow {
        href: first.dispatch.path(),
        reference: first.reference.clone(),
        when: ledger::moment(me, first.happened_at),
        to: if first.counter { "over the counter".into() } else { first.to.name.clone() },
        what: what.join(", "),
        weight: me.shop.weight(weight),
        struck: first.struck,
    }
}

#[derive(Template)]
#[template(path = "dispatch/index.html")]
struct IndexPage {
    frame: Frame,
    tabs: Vec<Tab>,
    dockets: Vec<DocketRow>,
    /// Fields of the file's span.
    from: String,
    to: String,
    errors: Errors,
    may: bool,
}

/// GET `/dispatch`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let until = me.now + Duration::days(1);
    let sent = db::sent(&mut conn, OffsetDateTime::UNIX_EPOCH, until, None, LISTED).await?;
    let today = me.today();
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Dispatch),
        tabs: tabs("/dispatch"),
        dockets: docket_rows(&me, &sent),
        from: input_day(today - Duration::days(30)),
        to: input_day(today),
        errors: Errors::default(),
        may: me.may(Right::Dispatch),
    };
    page::show(StatusCode::OK, &page)
}
