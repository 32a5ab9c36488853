//! `/packet/{scope}`: what is in a packet, its files, and the line that says it was handed over.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::draw;
use super::files::read;
use crate::book::Seq;
use crate::book::chain::hex;
use crate::error::{Error, Errors, Result};
use crate::packet::db::{self, Kept};
use crate::packet::entry::{PacketMade, Scope};
use crate::packet::page::{RECIPE, SHOWS};
use crate::rights::Right;
use crate::rights::needs::Packet;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct MakeForm {
    reader: String,
}

/// A table of the packet, as the page lists it.
pub struct TableRow {
    pub name: &'static str,
    pub rows: usize,
    pub href: String,
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
    let file = draw::draw(app, me, scope).await?;
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

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    scope: Scope,
    form: MakeForm,
    errors: Errors,
) -> Result<Response> {
    let gathered = draw::gathered(app, me, scope).await?;
    let made = db::made_of(&mut *app.db().await?, Some(scope), LISTED).await?;
    let (upto, head) = crate::packet::gather::head(&gathered.picked);
    let path = scope.path();
    let tables = gathered.sections.iter().map(|section| TableRow {
        name: section.name,
        rows: section.rows.len(),
        href: format!("{path}/tables/{}.csv", section.key),
    });
    let page = ShowPage {
        frame: Frame::new(app, me, Area::Packet),
        name: gathered.picked.name.clone(),
        word: scope.word(),
        lines: gathered.picked.seqs.len(),
        upto,
        head,
        tables: tables.collect(),
        recipe: RECIPE.join("\n"),
        shows: SHOWS,
        made: made_rows(me, made),
        form_id: fresh_id(),
        form,
        errors,
        may_make: me.may(Right::Packet),
        path,
    };
    page::show(status, &page)
}
