//! `/entries/{seq}`: one line with all that was signed.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use crate::book::chain::hex;
use crate::book::{self, Seq};
use crate::error::{Error, Result};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Fact, Line};
use crate::web::{App, Area, Frame, Me, Path, Topic, page};

#[derive(Template)]
#[template(path = "entries/entry.html")]
struct EntryPage {
    frame: Frame,
    seq: Seq,
    lines: Vec<Line>,
    facts: Vec<Fact>,
    /// What later rooms add, each a section of HTML.
    parts: Vec<String>,
    body: String,
    strike: String,
}

/// GET `/entries/{seq}`
pub async fn page(State(app): State<App>, me: Me, Path(seq): Path<i64>) -> Result<Response> {
    let entry = book::db::read_entry(&mut *app.db().await?, Seq(seq)).await?.ok_or(Error::NotFound)?;
    let line =
        ledger::line(&app.book.kinds, &me, &entry, Style { days: true, strikes: true, ..Style::default() })?;
    let can = app.book.kinds.get(&entry.kind).is_some_and(|kind| kind.can_be_struck);
    let value: serde_json::Value = serde_json::from_str(&entry.body).map_err(anyhow::Error::from)?;
    let at = |moment| ledger::moment(&me, moment);
    let mut facts = vec![
        Fact::new("Kind", entry.kind.clone()),
        Fact::new("Happened", at(entry.at.happened_at)),
        Fact::new("Written", at(entry.at.recorded_at)),
        Fact::new("Signed by", format!("{} ({})", entry.name, entry.initials)),
    ];
    if let Some(by) = &entry.struck {
        facts.push(Fact::new("Struck", line.struck.clone()).link(format!("/entries/{}", by.seq)));
    }
    facts.push(Fact::new("Hash before it", hex(&entry.prev)));
    facts.push(Fact::new("Its own hash", hex(&entry.hash)));
    let strike =
        if can && ledger::may_strike(&me, &entry) { format!("/entries/{seq}/strike") } else { String::new() };
    let body = serde_json::to_string_pretty(&value).map_err(anyhow::Error::from)?;
    let frame = Frame::new(&app, &me, Area::Elsewhere);
    let parts = app.parts(&me, Topic::Line(Seq(seq))).await?;
    let page = EntryPage { frame, seq: Seq(seq), lines: vec![line], facts, parts, body, strike };
    page::show(StatusCode::OK, &page)
}
