//! `/checks`: what is out of limits, what is due, what was recorded today.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use sqlx::PgConnection;
use time::{Duration, PrimitiveDateTime, Time};

use super::super::db;
use super::super::entry::{CheckRecorded, ReadingTaken};
use super::{Sheet, lots, span, tabs};
use crate::book::{self, Entry};
use crate::deviations::{self, On};
use crate::error::Result;
use crate::rights::Right;
use crate::web::ledger::{self, Style};
use crate::web::parts::{self, Line, State as Mark, Tab};
use crate::web::{App, Area, Frame, Me, page};

/// What becomes due within this time is called due already: nobody walks to the cooler by the minute.
const SOON: Duration = Duration::hours(1);

#[derive(Template)]
#[template(path = "checks/index.html")]
struct IndexPage {
    frame: Frame,
    tabs: Vec<Tab>,
    deviations: Vec<parts::Due>,
    due: Vec<parts::Due>,
    today: Vec<Line>,
    may_check: bool,
    /// No limit was ever written: nothing can be held against one.
    no_limits: bool,
}

/// GET `/checks`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let deviations = deviations::all_open_deviations(&mut conn).await?.into_iter().map(|open| parts::Due {
        time: ledger::lately(&me, open.opened_at),
        what: open.what,
        href: open.id.path(),
        code: String::new(),
        why: format!("{} on hold", lots(open.lots.len())),
        state: Mark::new("out", "open"),
    });
    let due = db::due(&mut conn, me.now).await?.iter().map(|due| as_due(&me, due)).collect();
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Checks),
        tabs: tabs(&mut conn, Sheet::Checks).await?,
        deviations: deviations.collect(),
        due,
        today: today(&app, &me, &mut conn).await?,
        may_check: me.may(Right::Check),
        no_limits: !db::any_limit(&mut conn).await?,
    };
    page::show(StatusCode::OK, &page)
}

fn as_due(me: &Me, due: &db::Due) -> parts::Due {
    let state = match due.late_by {
        Some(late) if due.last.is_some() => Mark::new("late", format!("late by {}", span(late))),
        None if due.due_at - me.now > SOON => Mark::new("wait", "not yet"),
        _ => Mark::new("due", "due"),
    };
    parts::Due {
        time: ledger::lately(me, due.due_at),
        what: format!("{} of {}", due.quantity.name(), due.place.name),
        href: format!(
            "{}&quantity={}",
            On::Place(due.place.id).record_path(),
            due.quantity.word().replace(' ', "+")
        ),
        code: String::new(),
        why: due
            .last
            .map_or_else(|| "never read".into(), |last| format!("last read {}", ledger::lately(me, last))),
        state,
    }
}

/// The readings and checks of the shop's day, the latest first.
async fn today(app: &App, me: &Me, conn: &mut PgConnection) -> Result<Vec<Line>> {
    let midnight = PrimitiveDateTime::new(me.today(), Time::MIDNIGHT);
    let from = me.shop.zone.instant(midnight).map_err(anyhow::Error::from)?;
    let mut entries = book::db::of_day(conn, from, me.now + Duration::minutes(1)).await?;
    entries.retain(|entry| [ReadingTaken::KIND, CheckRecorded::KIND].contains(&entry.kind.as_str()));
    entries.reverse();
    ledger::lines(&app.book.kinds, me, &entries, Style { strike: me.may(Right::Check), ..Style::default() })
}
