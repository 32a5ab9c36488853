//! `/attachments/{id}`: one paper with its seal; `/attachments/{id}/file`: its bytes, handed out so that no browser runs or
//! guesses anything of them.

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

use super::super::db;
use super::index::find;
use super::row;
use crate::book;
use crate::error::{Error, Result};
use crate::ids::PaperId;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Fact, Line, State as Mark};
use crate::web::{App, Area, Frame, Me, Path, page};

/// How many lines about the paper the page shows.
const LINES: i64 = 20;

#[derive(Template)]
#[template(path = "attachments/paper.html")]
struct PaperPage {
    frame: Frame,
    name: String,
    file: String,
    state: Option<Mark>,
    facts: Vec<Fact>,
    seal: String,
    lines: Vec<Line>,
}

/// GET `/attachments/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<PaperId>) -> Result<Response> {
    let mut conn = app.db().await?;
    let paper = db::paper(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    drop(conn);
    let of = paper.subject.map(|id| id.to_string()).or_else(|| paper.line.map(|seq| seq.to_string()));
    let about = find(&app, &format!("{}/{}", paper.about, of.unwrap_or_default())).await?;
    let row = row(&me, &paper);
    let mut facts = vec![
        Fact::new("Belongs to", about.name()).link(about.path()),
        Fact::new("Sort", row.sort),
        Fact::new("What it is", row.media),
    ];
    if !row.note.is_empty() {
        facts.push(Fact::new("Remark", row.note));
    }
    let page = PaperPage {
        frame: Frame::new(&app, &me, Area::Checks),
        seal: paper.hash(),
        name: row.name,
        file: row.file,
        state: row.state,
        facts,
        lines: ledger::lines(
            &app.book.kinds,
            &me,
            &entries,
            Style { days: true, strike: true, ..Style::default() },
        )?,
    };
    page::show(StatusCode::OK, &page)
}

/// GET `/attachments/{id}/file`
pub async fn file(State(app): State<App>, _me: Me, Path(id): Path<PaperId>) -> Result<Response> {
    let mut conn = app.db().await?;
    let paper = db::paper(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let body = db::body(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let disposition = HeaderValue::from_str(&disposition(&paper.name)).map_err(anyhow::Error::from)?;
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static(paper.media.mime())),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CONTENT_SECURITY_POLICY, HeaderValue::from_static("default-src 'none'; sandbox")),
        (header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff")),
        (header::CACHE_CONTROL, HeaderValue::from_static("private, no-store")),
        (HeaderName::from_static("cross-origin-resource-policy"), HeaderValue::from_static("same-origin")),
    ];
    Ok((headers, body).into_response())
}

/// To be saved under this name: in ASCII for every browser, and as it is by RFC 6266.
fn disposition(name: &str) -> String {
    let plain =
        |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, ' ' | '-' | '_' | '.' | ',');
    let ascii: String = name.chars().map(|letter| if plain(letter) { letter } else { '_' }).collect();
    let whole = utf8_percent_encode(name, NON_ALPHANUMERIC);
    format!("attachment; filename=\"{ascii}\"; filename*=UTF-8''{whole}")
}

#[cfg(test)]
mod tests {
    use super::disposition;

    #[test]
    fn a_file_is_always_to_be_saved_and_its_name_breaks_no_header() {
        assert_eq!(
            disposition("Prüfung 1.pdf"),
            "attachment; filename=\"Pr_fung 1.pdf\"; filename*=UTF-8''Pr%C3%BCfung%201%2Epdf"
        );
        assert!(!disposition("a\"; x=\r\n.txt").contains("\r\n"));
        assert_eq!(disposition("a\"b.txt").matches('"').count(), 2);
    }
}
