//! `/checks/deviations`: the open ones first, then the latest.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::{Sheet, lots, tabs};
use crate::deviations::{self, Listed};
use crate::error::Result;
use crate::rights::Right;
use crate::web::parts::{Due, Paging, State as Mark, Tab};
use crate::web::{App, Area, Frame, Me, Query, ledger, page};

/// Lines on one leaf.
const LEAF: usize = 50;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// How many to leave out.
    after: String,
}

#[derive(Template)]
#[template(path = "checks/deviations.html")]
struct DeviationsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    rows: Vec<Due>,
    paging: Paging,
    may_check: bool,
}

/// GET `/checks/deviations`
pub async fn page(State(app): State<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let mut conn = app.db().await?;
    let skip = asked.after.parse::<u16>().map_or(0, usize::from);
    let count = |n: usize| i64::try_from(n).map_err(anyhow::Error::from);
    let mut listed = deviations::listed(&mut conn, count(skip)?, count(LEAF + 1)?).await?;
    let goes_on = listed.len() > LEAF;
    listed.truncate(LEAF);
    let leaf = |skip: usize| format!("/checks/deviations?after={skip}");
    let page = DeviationsPage {
        frame: Frame::new(&app, &me, Area::Checks),
        tabs: tabs(&mut conn, Sheet::Deviations).await?,
        rows: listed.iter().map(|deviation| row(&me, deviation)).collect(),
        paging: Paging {
            newer: if skip > 0 { leaf(skip.saturating_sub(LEAF)) } else { String::new() },
            older: if goes_on { leaf(skip + LEAF) } else { String::new() },
            words: String::new(),
        },
        may_check: me.may(Right::Check),
    };
    page::show(StatusCode::OK, &page)
}

fn row(me: &Me, deviation: &Listed) -> Due {
    let written = 4 - deviation.parts.missing().len();
    let count = usize::try_from(deviation.lots).unwrap_or_default();
    Due {
        time: ledger::lately(me, deviation.opened_at),
        what: deviation.what.clone(),
        href: deviation.id.path(),
        code: String::new(),
        why: format!("{}, {written} of the 4 parts written", lots(count)),
        state: state(deviation),
    }
}

/// How a deviation stands, in a word.
pub fn state(deviation: &Listed) -> Mark {
    match deviation {
        Listed { struck: true, .. } => Mark::new("gone", "struck"),
        Listed { closed: true, .. } => Mark::new("met", "closed"),
        _ => Mark::new("out", "open"),
    }
}
