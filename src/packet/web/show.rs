//! `/packet/{scope}`: what is in a packet, its files, and the line that says it was handed over.

use std::sync::Arc;

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::files::read;
use crate::book::Seq;
use crate::book::chain::hex;
use crate::error::{Error, Errors, Refusal, Result};
use crate::packet::db::{self, Kept, Picked};
use crate::packet::drawing::{self, File, Looked, MOST, TableOf};
use crate::packet::entry::{PacketMade, Scope};
use crate::packet::gather::head;
use crate::packet::page::{RECIPE, SHOWS};
use crate::rights::Right;
use crate::rights::needs::Packet;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct MakeForm {
    reader: String,
    /// The drawing that is signed for, where it was drawn beside the requests.
    drawing: String,
}

/// A table of the packet, as the page lists it.
pub struct TableRow {
    pub name: String,
    pub rows: usize,
    pub href: String,
}

/// How its file is had.
enum How {
    /// Drawn when it is asked for.
    Now,
    /// More lines than one packet may rest on.
    TooMany,
    /// Drawn beside the requests, and not begun yet; or, with a word on what came of it, not done.
    ToDraw(&'static str),
    Drawing(i32),
    Drawn {
        href: String,
        upto: Seq,
        behind: bool,
    },
}

/// A packet that was made.
pub struct MadeRow {
    pub name: String,
    pub when: String,
    pub reader: String,
    pub initials: String,
    pub href: String,
    pub line: String,
    pub sha256: String,
}

pub(super) fn made_rows(me: &Me, made: Vec<Kept>) -> Vec<MadeRow> {
    let row = |kept: Kept| MadeRow {
        when: ledger::moment(me, kept.made_at),
        href: format!("/packet/made/{}", kept.seq),
        line: format!("/entries/{}", kept.seq),
        sha256: hex(&kept.sha256),
        name: kept.name,
        reader: kept.reader,
        initials: kept.initials,
    };
    made.into_iter().map(row).collect()
}

#[derive(Template)]
#[template(path = "packet/show.html")]
struct ShowPage {
    frame: Frame,
    name: String,
    word: &'static str,
    path: String,
    lines: usize,
    upto: Seq,
    head: String,
    how: How,
    most: usize,
    tables: Vec<TableRow>,
    recipe: String,
    shows: &'static str,
    made: Vec<MadeRow>,
    form_id: Uuid,
    form: MakeForm,
    errors: Errors,
    may_make: bool,
}

/// How many packets of one thing are listed.
const LISTED: i64 = 30;

/// GET `/packet/{scope}`
pub async fn page(State(app): State<App>, me: Me, Path(scope): Path<String>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, read(&scope)?, MakeForm::default(), Errors::default()).await
}

/// POST `/packet/{scope}`
pub async fn make(
    State(app): State<App>,
    me: Signer<Packet>,
    Path(scope): Path<String>,
    form: Form<MakeForm>,
) -> Result<Response> {
    let scope = read(&scope)?;
    match sign(&app, &me, scope, &form).await {
        Ok(()) => page::goto(&scope.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, scope, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

/// Draws it first and takes the pen afterwards: the line names the book's last line as the cover does, and nobody waits
/// for the drawing.
async fn sign(app: &App, me: &Me, scope: Scope, form: &Form<MakeForm>) -> Result<()> {
    let mut fields = Reader::new(&me.shop);
    let reader = fields.line_or_empty("reader", &form.reader);
    let reader = fields.finish(|| reader)?;
    let file = file_of(app, me, scope, &form.drawing).await?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let made = PacketMade {
        scope,
        name: file.name,
        reader,
        upto: file.upto,
        head: file.head,
        lines: file.lines,
        sha256: hex(&Sha256::digest(&file.pdf)),
    };
    let seq = pen.append(made).await?;
    db::keep_file(&mut pen, seq, &file.pdf).await?;
    pen.commit().await
}

/// The file that is signed for: drawn now, or as it was drawn beside the requests.
async fn file_of(app: &App, me: &Me, scope: Scope, drawing: &str) -> Result<File> {
    match drawing::look(app, &me.shop, scope).await? {
        Looked::Whole(gathered) => {
            drawing::set(app, &me.shop, &drawing::by(me), gathered, &Arc::default()).await
        }
        Looked::Many(_) => {
            let drawn = match Uuid::parse_str(drawing) {
                Ok(id) => db::drawing::file(&mut *app.db().await?, id, scope).await?,
                Err(_) => None,
            };
            drawn.ok_or_else(|| Refusal::of("Draw it first. When it is done, it can be signed for.").into())
        }
    }
}

/// How a packet of many lines stands, its tables where it is done, and the drawing that can be signed for.
async fn beside(app: &App, scope: Scope, picked: &Picked) -> Result<(How, Vec<TableOf>, String)> {
    if picked.seqs.len() > MOST {
        return Ok((How::TooMany, vec![], String::new()));
    }
    let Some(drawing) = db::drawing::latest(&mut *app.db().await?, scope).await? else {
        return Ok((How::ToDraw(""), vec![], String::new()));
    };
    let going = drawing.goes_on();
    Ok(match drawing.done {
        Some(done) => {
            let href = format!("{}/drawn/{}", scope.path(), drawing.id);
            let behind = done.upto != picked.upto;
            (How::Drawn { href, upto: done.upto, behind }, done.tables, drawing.id.to_string())
        }
        None if going => (How::Drawing(drawing.percent), vec![], String::new()),
        None if drawing.failed => {
            (How::ToDraw("It could not be drawn; the program's log says why."), vec![], String::new())
        }
        None => (How::ToDraw("The program was stopped while it was drawn."), vec![], String::new()),
    })
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    scope: Scope,
    form: MakeForm,
    errors: Errors,
) -> Result<Response> {
    let looked = drawing::look(app, &me.shop, scope).await?;
    let made = db::made_of(&mut *app.db().await?, Some(scope), LISTED).await?;
    let (picked, (how, tables, drawing)) = match looked {
        Looked::Whole(gathered) => {
            let tables = drawing::tables(&gathered);
            (gathered.picked, (How::Now, tables, String::new()))
        }
        Looked::Many(picked) => {
            let stands = beside(app, scope, &picked).await?;
            (picked, stands)
        }
    };
    let (upto, head) = head(&picked);
    let path = scope.path();
    let tables = tables.into_iter().map(|table| TableRow {
        href: format!("{path}/tables/{}.csv", table.key),
        name: table.name,
        rows: table.rows,
    });
    let signs = matches!(how, How::Now | How::Drawn { .. });
    let page = ShowPage {
        frame: Frame::new(app, me, Area::Packet),
        name: picked.name,
        word: scope.word(),
        lines: picked.seqs.len(),
        upto,
        head,
        how,
        most: MOST,
        tables: tables.collect(),
        recipe: RECIPE.join("\n"),
        shows: SHOWS,
        made: made_rows(me, made),
        form_id: fresh_id(),
        form: MakeForm { drawing, ..form },
        errors,
        may_make: signs && me.may(Right::Packet),
        path,
    };
    page::show(status, &page)
}
