//! `/lots/{id}`: the page of a lot. A piece of a batch has its own; every other lot shares one.

use axum::extract::State as With;
use axum::response::Response;
use sqlx::PgConnection;

use super::super::db;
use super::super::way::{self, Brought};
use super::{other, piece};
use crate::book::{self, Form, Lot};
use crate::error::{Error, Result};
use crate::hanging;
use crate::ids::LotId;
use crate::receiving::{self, Origin};
use crate::rights::Right;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Line, Step};
use crate::web::{App, Me, Path, Topic};

/// How many lines of the book the page shows.
const LINES: i64 = 200;

/// A stamp on the page: a mark's name and a word.
pub struct Stamp {
    pub mark: &'static str,
    pub word: &'static str,
}

/// What the pages of all lots share.
pub struct Head {
    pub href: String,
    pub code: String,
    pub name: String,
    pub stamps: Vec<Stamp>,
    pub way: Vec<Step>,
    pub lines: Vec<Line>,
    /// What later rooms add, each a section of HTML.
    pub added: Vec<String>,
    pub trace: String,
    /// How warm it was where it lay.
    pub cold: String,
    pub label: String,
    pub move_it: String,
    pub read_it: String,
    pub may_hang: bool,
    pub may_check: bool,
}

/// GET `/lots/{id}`
pub async fn page(With(app): With<App>, me: Me, Path(id): Path<LotId>) -> Result<Response> {
    let mut conn = app.db().await?;
    let lot = book::db::lot(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let origin = receiving::origin(&mut conn, id).await?;
    let hung = hanging::hung(&mut conn, id).await?;
    let released = hung.as_ref().is_some_and(|piece| piece.released);
    let head = head(&app, &me, &mut conn, &lot, origin.as_ref(), released).await?;
    match hung {
        Some(hung) => piece::draw(&app, &me, &mut conn, head, &lot, &hung).await,
        None => other::draw(&app, &me, &mut conn, head, &lot, origin).await,
    }
}

async fn head(
    app: &App,
    me: &Me,
    db: &mut PgConnection,
    lot: &Lot,
    origin: Option<&Origin>,
    released: bool,
) -> Result<Head> {
    let sources = db::came_from(db, lot.id).await?;
    let brought =
        origin.map(|origin| Brought { supplier: origin.supplier, name: origin.supplier_name.clone() });
    let entries = book::db::about(db, lot.id.0, LINES).await?;
    let style = Style { days: true, strike: me.may(Right::Hang), ..Style::default() };
    let lines = ledger::lines(&app.book.kinds, me, &entries, style)?;
    let lines = lines.into_iter().zip(ledger::shown(&entries));
    let lines = lines.map(|(line, entry)| Line { second: hanging::difference(me, entry), ..line });
    let code = lot.code.to_string();
    Ok(Head {
        href: lot.id.path(),
        name: lot.item_name.clone(),
        stamps: stamps(lot, released),
        way: way::way(lot, &sources, brought, |grams| me.shop.weight(grams)),
        lines: lines.collect(),
        added: app.parts(me, Topic::Lot(lot.id)).await?,
        trace: format!("/trace?code={code}"),
        cold: format!("/cold/{}", lot.id),
        label: format!("/labels?lots={code}"),
        move_it: format!("/hanging/move?code={code}"),
        read_it: format!("/checks/record?lot={}", lot.id),
        may_hang: me.may(Right::Hang) && !lot.struck && !lot.grams.is_zero(),
        may_check: me.may(Right::Check) && !lot.struck,
        code,
    })
}

/// What must not be overlooked. Only what a person has released is for sale; raw cuts are not in a batch.
fn stamps(lot: &Lot, released: bool) -> Vec<Stamp> {
    let stamp = |mark, word| Stamp { mark, word };
    if lot.struck {
        return vec![stamp("gone", "Struck")];
    }
    let mut stamps = Vec::new();
    if matches!(lot.form, Form::Piece | Form::Mix) && !released {
        stamps.push(stamp("out", "Not for sale"));
    }
    if lot.held.is_some() {
        stamps.push(stamp("held", "On hold"));
    }
    if lot.grams.is_zero() {
        stamps.push(stamp("gone", "Nothing left"));
    }
    stamps
}
