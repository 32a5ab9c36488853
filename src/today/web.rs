//! `/`: what is late, due and done, by place.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use sqlx::PgConnection;
use time::{Duration, OffsetDateTime};

use super::db;
use super::tasks::{self, Presses, Section, Task};
use crate::book;
use crate::error::Result;
use crate::hanging::{self, Hung};
use crate::measure::{day_long, day_text};
use crate::web::ledger::{self, Style};
use crate::web::parts::Line;
use crate::web::{App, Area, Frame, Me, page};
use crate::{batches, calibration, checks, deviations, fermenting, ids::PlaceId};

/// How many of today's lines the page shows.
const LINES: usize = 30;
/// How long before its end an ingredient is named, in days.
const AHEAD: i64 = 14;

#[derive(Template)]
#[template(path = "today/index.html")]
struct TodayPage {
    frame: Frame,
    heading: String,
    said: String,
    first: Option<(String, String)>,
    sections: Vec<Section>,
    lines: Vec<Line>,
    more: bool,
    empty: bool,
}

/// GET `/`
pub async fn page(With(app): With<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let empty = !db::anything(&mut conn).await?;
    let tasks = tasks(&mut conn, &me).await?;
    let from = me.shop.zone.start_of(me.today());
    let done = book::db::of_day(&mut conn, from, me.now + Duration::seconds(1)).await?;
    let shown: Vec<_> = done.iter().rev().take(LINES).cloned().collect();
    let count = |presses: Presses| tasks.iter().filter(|task| task.presses == presses).count();
    let out = match count(Presses::Out) {
        0 => String::new(),
        n => format!("{n} out of limits, "),
    };
    let first = tasks::first(&tasks).map(|task| {
        (task.due.href.clone(), [task.due.what.as_str(), &task.due.code].join(" ").trim().to_owned())
    });
    let page = TodayPage {
        frame: Frame::new(&app, &me, Area::Today),
        heading: day_long(me.today()),
        said: format!("{out}{} late, {} due, {} done", count(Presses::Late), count(Presses::Due), done.len()),
        first,
        sections: tasks::by_place(tasks),
        lines: ledger::lines(&app.book.kinds, &me, &shown, Style::default())?,
        more: done.len() > LINES,
        empty,
    };
    page::show(StatusCode::OK, &page)
}

/// Everything that waits, asked of each area once.
async fn tasks(db: &mut PgConnection, me: &Me) -> Result<Vec<Task>> {
    let end = me.shop.zone.start_of(me.today() + Duration::days(1));
    let mut all = Vec::new();
    all.extend(deviations::all_open_deviations(db).await?.iter().map(|deviation| deviated(me, deviation)));
    all.extend(checks::due(db, me.now).await?.iter().filter(|due| due.due_at < end).map(|due| read(me, due)));
    all.extend(weigh(me, &hanging::hanging(db).await?));
    let over = batches::due(db).await?.into_iter().filter(|due| due.waits && due.over_at <= end);
    all.extend(over.map(|due| staged(me, &due)));
    all.extend(fermenting::pressing(db, me.now).await?.iter().filter_map(|batch| warm(me, batch)));
    all.extend(db::open_breakdowns(db).await?.iter().map(|open| on_the_block(me, open)));
    let instruments = calibration::due(db).await?;
    all.extend(instruments.iter().filter_map(|due| calibrate(me, due, end)));
    let until = me.today() + Duration::days(AHEAD);
    all.extend(db::ending(db, until).await?.iter().map(|ending| ends(me, ending)));
    Ok(all)
}

fn deviated(me: &Me, deviation: &deviations::OpenDeviation) -> Task {
    let lots = match deviation.lots.len() {
        1 => "1 lot concerned".to_owned(),
        n => format!("{n} lots concerned"),
    };
    Task::new("Out of limits", Presses::Out, "open", deviation.what.clone())
        .at(ledger::day(me, deviation.opened_at))
        .link(deviation.id.path())
        .why(format!(
            "since {} {}, {lots}",
            ledger::day(me, deviation.opened_at),
            ledger::time(me, deviation.opened_at)
        ))
}

fn read(me: &Me, due: &checks::Due) -> Task {
    let (presses, word) = match due.late_by {
        Some(late) => (Presses::Late, format!("late {}", span(late))),
        None => (Presses::Due, "due".to_owned()),
    };
    let last = due.last.map_or_else(
        || "never read".to_owned(),
        |last| format!("last read {} {}", ledger::day(me, last), ledger::time(me, last)),
    );
    Task::new(due.place.name.clone(), presses, word, format!("Read the {}", due.quantity.word()))
        .at(ledger::time(me, due.due_at))
        .link(format!("/checks/record?place={}", due.place.id))
        .why(last)
}

/// An instrument whose time is over, or ends today.
fn calibrate(me: &Me, due: &calibration::Due, end: OffsetDateTime) -> Option<Task> {
    let at = due.at().filter(|at| *at < end)?;
    let (presses, word) = if at > me.now {
        (Presses::Due, "due today".to_owned())
    } else if due.last.as_ref().is_some_and(|last| last.left_met) {
        (Presses::Late, format!("late {}", span(me.now - at)))
    } else {
        (Presses::Late, "never passed here".to_owned())
    };
    let task = Task::new("Instruments", presses, word, format!("Calibrate {}", due.instrument.name));
    Some(task.link(format!("/calibration/{}", due.instrument.id)))
}

/// The pieces that are due on the scale, one line for each place.
fn weigh(me: &Me, pieces: &[Hung]) -> Vec<Task> {
    let mut places: BTreeMap<Option<PlaceId>, Vec<(&Hung, i64)>> = BTreeMap::new();
    for piece in pieces {
        let due = piece.due_on(|at| me.shop.date(at)).filter(|due| *due <= me.today());
        if let Some(due) = due {
            places.entry(piece.place).or_default().push((piece, (me.today() - due).whole_days()));
        }
    }
    places
        .into_iter()
        .filter_map(|(place, due)| {
            let (piece, _) = due.first()?;
            let late = due.iter().map(|(_, days)| *days).max()?;
            let (presses, word) = match late {
                0 => (Presses::Due, "due".to_owned()),
                1 => (Presses::Late, "1 day late".to_owned()),
                days => (Presses::Late, format!("{days} days late")),
            };
            let name = piece.place_name.clone().unwrap_or_else(|| "Without a place".to_owned());
            let what = match due.len() {
                1 => "Weigh in 1 piece".to_owned(),
                n => format!("Weigh in {n} pieces"),
            };
            let place = place.map(|place| place.to_string()).unwrap_or_default();
            let task = Task::new(name, presses, word, what).link(hanging::weigh_path("", &place));
            Some(match piece.weigh_every {
                Some(every) => task.why(format!("every {every} days")),
                None => task,
            })
        })
        .collect()
}

fn staged(me: &Me, over: &batches::Due) -> Task {
    let (presses, word) = late(me, over.over_at);
    let next = match &over.next {
        Some(next) => format!(", then {}", next.word()),
        None => String::new(),
    };
    Task::new(
        if over.place_name.is_empty() { "Batches".to_owned() } else { over.place_name.clone() },
        presses,
        word,
        format!("End of {}", over.stage.word()),
    )
    .at(if me.shop.date(over.over_at) == me.today() {
        ledger::time(me, over.over_at)
    } else {
        ledger::day(me, over.over_at)
    })
    .link(over.batch.path())
    .code(&over.code)
    .why(format!("{}, in it since {}{next}", over.product_name, ledger::day(me, over.since)))
}

/// A fermentation that is over its limit, or has little left. One whose deviation is open stands among those.
fn warm(me: &Me, batch: &fermenting::Pressing) -> Option<Task> {
    if batch.over && batch.deviation.is_some() {
        return None;
    }
    let place = if batch.place_name.is_empty() { "Batches" } else { batch.place_name.as_str() };
    let task = if batch.over {
        Task::new(place, Presses::Out, "over the limit", "Degree-hours of")
    } else {
        let minutes = (batch.left * Decimal::from(60)).floor().to_i64().unwrap_or_default();
        let left = Duration::minutes(minutes);
        Task::new(place, Presses::Due, format!("{} left", span(left)), "Measure the pH of")
            .at(ledger::time(me, me.now + left))
    };
    let why = format!("{}, {} before pH 5.3", batch.product_name, batch.figure);
    Some(task.link(format!("/fermenting/{}", batch.batch)).code(&batch.code).why(why))
}

fn on_the_block(me: &Me, open: &db::OpenBreakdown) -> Task {
    let today = me.shop.date(open.opened_at) == me.today();
    let (presses, word) = if today { (Presses::Due, "open") } else { (Presses::Late, "still open") };
    Task::new("Block", presses, word, "Close the breakdown of")
        .at(if today { ledger::time(me, open.opened_at) } else { ledger::day(me, open.opened_at) })
        .link(open.id.path())
        .code(&open.code)
        .why(format!("{}, {} still on the block", open.item_name, me.shop.weight(open.left)))
}

fn ends(me: &Me, ending: &db::Ending) -> Task {
    let (presses, word) = if ending.best_before < me.today() {
        (Presses::Late, format!("ended {}", day_text(ending.best_before)))
    } else {
        (Presses::Due, format!("until {}", day_text(ending.best_before)))
    };
    let place = ending.place_name.clone().unwrap_or_else(|| "Store".to_owned());
    Task::new(place, presses, word, format!("Use up {}", ending.item_name))
        .link(ending.lot.path())
        .code(&ending.code)
        .why(format!(
            "{} on hand, best before {}",
            me.shop.weight(ending.grams),
            day_text(ending.best_before)
        ))
}

/// Due today, or late by so long.
fn late(me: &Me, at: OffsetDateTime) -> (Presses, String) {
    if at < me.now {
        (Presses::Late, format!("late {}", span(me.now - at)))
    } else {
        (Presses::Due, "due".to_owned())
    }
}

/// "20 min", "1 h 20", "3 days".
fn span(late: Duration) -> String {
    let minutes = late.whole_minutes();
    match minutes {
        ..60 => format!("{minutes} min"),
        60..1440 => format!("{} h {:02}", minutes / 60, minutes % 60),
        1440..2880 => "1 day".to_owned(),
        _ => format!("{} days", minutes / 1440),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_delay_is_told_as_a_person_tells_it() {
        assert_eq!(span(Duration::minutes(20)), "20 min");
        assert_eq!(span(Duration::minutes(80)), "1 h 20");
        assert_eq!(span(Duration::hours(25)), "1 day");
        assert_eq!(span(Duration::hours(73)), "3 days");
    }
}
