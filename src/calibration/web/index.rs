//! `/calibration`: every instrument, when it last passed, and when it is due.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db::{self, Due};
use crate::error::Result;
use crate::web::parts::State as Mark;
use crate::web::{App, Area, Frame, Me, ledger, page};

struct Row {
    href: String,
    name: String,
    measures: &'static str,
    every: String,
    last: String,
    state: Mark,
}

#[derive(Template)]
#[template(path = "calibration/index.html")]
struct IndexPage {
    frame: Frame,
    rows: Vec<Row>,
}

/// GET `/calibration`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let all = db::due(&mut *app.db().await?).await?;
    let rows = all.iter().map(|due| row(&me, due)).collect();
    page::show(StatusCode::OK, &IndexPage { frame: Frame::new(&app, &me, Area::Checks), rows })
}

/// How an instrument stands: whether it passed, and whether its time is over.
pub fn state(me: &Me, due: &Due) -> Mark {
    match (&due.last, due.at()) {
        (Some(last), _) if !last.left_met => Mark::new("out", "failed, not to be used"),
        (None, None) => Mark::new("wait", "never calibrated here"),
        (None, Some(_)) => Mark::new("late", "never calibrated here"),
        (Some(_), Some(at)) if at <= me.now => {
            Mark::new("late", format!("due since {}", ledger::day(me, at)))
        }
        (Some(_), Some(at)) => Mark::new("met", format!("passed, due {}", ledger::day(me, at))),
        (Some(_), None) => Mark::new("met", "passed"),
    }
}

fn row(me: &Me, due: &Due) -> Row {
    let days = |days: i32| if days == 1 { "day".to_owned() } else { format!("{days} days") };
    Row {
        href: format!("/calibration/{}", due.instrument.id),
        name: due.instrument.name.clone(),
        measures: due.measures.label(),
        every: due.every.map(days).unwrap_or_default(),
        last: due.last.as_ref().map(|last| ledger::moment(me, last.at)).unwrap_or_default(),
        state: state(me, due),
    }
}
