//! `/loggers/imports/{id}`: an import as it was sealed, and its canonical text.

use askama::Template;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

use super::super::db;
use super::super::entry::Sample;
use crate::book;
use crate::error::{Error, Result};
use crate::ids::ImportId;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Fact, Line};
use crate::web::{App, Area, Frame, Me, Path, page};

/// How many lines of the book the page shows.
const LINES: i64 = 20;

#[derive(Template)]
#[template(path = "loggers/sealed.html")]
struct SealedPage {
    frame: Frame,
    place: String,
    facts: Vec<Fact>,
    seal: String,
    text: String,
    lines: Vec<Line>,
    struck: bool,
}

/// GET `/loggers/imports/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<ImportId>) -> Result<Response> {
    let mut conn = app.db().await?;
    let import = db::import(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let style = Style { days: true, strike: true, ..Style::default() };
    let page = SealedPage {
        frame: Frame::new(&app, &me, Area::Hanging),
        facts: vec![
            Fact::new("Place", import.place_name.clone()).link(import.place.path()),
            Fact::new("From", import.logger.clone().unwrap_or_else(|| import.source.clone())),
            Fact::new("Samples", import.samples.to_string()),
            Fact::new("First", ledger::moment(&me, import.first_at)),
            Fact::new("Last", ledger::moment(&me, import.last_at)),
        ],
        seal: import.seal(),
        place: import.place_name,
        text: format!("{}/samples.txt", id.path()),
        lines: ledger::lines(&app.book.kinds, &me, &entries, style)?,
        struck: import.struck,
    };
    page::show(StatusCode::OK, &page)
}

/// GET `/loggers/imports/{id}/samples.txt`: the text that the seal is the hash of.
pub async fn text(State(app): State<App>, _me: Me, Path(id): Path<ImportId>) -> Result<Response> {
    let mut conn = app.db().await?;
    db::import(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let text: String = db::samples_of(&mut conn, id).await?.iter().map(Sample::line).collect();
    Ok(([(header::CONTENT_TYPE, "text/plain; charset=utf-8")], text).into_response())
}
