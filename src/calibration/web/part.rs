//! What the pages of a reading, a batch and a lot say of the instruments that their figures rest on.

use std::collections::BTreeMap;

use askama::Template;
use sqlx::PgConnection;
use uuid::Uuid;

use super::super::db::{self, OpenOn, Used};
use super::super::entry::{Tried, questioned_by, rested_on};
use crate::error::Result;
use crate::ids::InstrumentId;
use crate::web::parts::State as Mark;
use crate::web::{App, Drawn, Me, Topic, ledger};

/// How many lines in question are named; the rest are on the instrument's page.
const LINES: usize = 8;

struct Row {
    href: String,
    name: String,
    last: String,
    last_href: String,
    state: Mark,
    /// The deviation, where a figure is or was in question.
    deviation: String,
    /// The lines of the book that are in question.
    lines: Vec<String>,
    more: usize,
}

#[derive(Template)]
#[template(path = "calibration/part.html")]
struct InstrumentsPart {
    title: &'static str,
    rows: Vec<Row>,
}

/// What the page of a reading, a batch or a lot says of its instruments.
pub fn part<'a>(app: &'a App, me: &'a Me, topic: Topic) -> Drawn<'a> {
    Box::pin(async move {
        let mut conn = app.db().await?;
        let (used, concerned, title) = match topic {
            Topic::Line(seq) => (db::used_at(&mut conn, seq).await?, Vec::new(), "Read with"),
            Topic::Batch(batch) => of(&mut conn, batch.0).await?,
            Topic::Lot(lot) => of(&mut conn, lot.0).await?,
            _ => return Ok(None),
        };
        if used.is_empty() && concerned.is_empty() {
            return Ok(None);
        }
        let rows = rows(&mut conn, me, used, concerned).await?;
        Ok(Some(InstrumentsPart { title, rows }.render().map_err(anyhow::Error::from)?))
    })
}

async fn of(conn: &mut PgConnection, subject: Uuid) -> Result<(Vec<Used>, Vec<OpenOn>, &'static str)> {
    let concerned = db::on_lots_of(conn, subject).await?;
    Ok((db::used_for(conn, subject).await?, concerned, "Instruments"))
}

async fn rows(conn: &mut PgConnection, me: &Me, used: Vec<Used>, concerned: Vec<OpenOn>) -> Result<Vec<Row>> {
    let mut by: BTreeMap<(String, InstrumentId), Vec<Used>> = BTreeMap::new();
    for one in used {
        by.entry((one.name.to_lowercase(), one.instrument)).or_default().push(one);
    }
    let instruments: Vec<InstrumentId> = by.keys().map(|(_, id)| *id).collect();
    let tried = db::tried(conn, &instruments).await?;
    let stood = |id: &InstrumentId| tried.get(id).map_or(&[][..], Vec::as_slice);
    let failed: Vec<_> = by
        .iter()
        .flat_map(|((_, id), used)| used.iter().filter_map(|one| questioned_by(one.at, stood(id))))
        .map(|one| one.seq)
        .collect();
    let opened = db::open_on(conn, &failed).await?;
    let mut rows: Vec<Row> =
        by.iter().map(|((_, id), used)| row(me, *id, used, stood(id), &opened)).collect();
    // Of a chamber's readings, those that a batch itself was not read by: the deviation names its pieces.
    let others = concerned.iter().filter(|one| !failed.contains(&one.seq));
    rows.extend(others.map(|one| Row {
        href: format!("/calibration/{}", one.instrument),
        name: one.what.clone(),
        last: String::new(),
        last_href: String::new(),
        state: question(one.closed),
        deviation: one.deviation.path(),
        lines: Vec::new(),
        more: 0,
    }));
    Ok(rows)
}

fn question(closed: bool) -> Mark {
    if closed { Mark::new("gone", "was in question, decided") } else { Mark::new("out", "in question") }
}

fn row(me: &Me, id: InstrumentId, used: &[Used], stood: &[Tried], opened: &[OpenOn]) -> Row {
    let latest = used.last();
    let rested = latest.and_then(|one| rested_on(one.at, stood));
    let asked: Vec<(&Used, &Tried)> =
        used.iter().filter_map(|one| Some((one, questioned_by(one.at, stood)?))).collect();
    let deviation = asked.iter().find_map(|(_, by)| {
        let of = |one: &&OpenOn| one.seq == by.seq;
        opened.iter().filter(of).min_by_key(|one| one.closed)
    });
    let state = match (deviation, rested) {
        (Some(one), _) => question(one.closed),
        (None, _) if !asked.is_empty() => question(false),
        (None, Some(last)) if last.left_met => Mark::new("met", "passed before"),
        (None, Some(_)) => Mark::new("out", "had failed before"),
        (None, None) => Mark::new("wait", "not calibrated here before"),
    };
    Row {
        href: format!("/calibration/{id}"),
        name: latest.map(|one| one.name.clone()).unwrap_or_default(),
        last: rested.map(|last| ledger::moment(me, last.at)).unwrap_or_default(),
        last_href: rested.map(|last| format!("/entries/{}", last.seq)).unwrap_or_default(),
        state,
        deviation: deviation.map(|one| one.deviation.path()).unwrap_or_default(),
        lines: asked.iter().take(LINES).map(|(one, _)| one.seq.to_string()).collect(),
        more: asked.len().saturating_sub(LINES),
    }
}
