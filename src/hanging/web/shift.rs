//! `/hanging/move`: hanging and moving one lot or many, by their codes or by the ticks of a place's page.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use time::OffsetDateTime;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, LotsMoved};
use crate::book::{self, Lot};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{LotId, PlaceId};
use crate::measure::{LotCode, one_line};
use crate::rights::Right;
use crate::rights::needs::Hang;
use crate::setup;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

/// The most lots that one line of the book moves.
const MOST: usize = 500;
/// The longest name of a hook, in characters.
const HOOK: usize = 20;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct MoveForm {
    /// Ticked on a place's page.
    lot: Vec<String>,
    /// Typed or scanned, one on a line.
    codes: String,
    to: String,
    hook: String,
    when: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    code: String,
    to: String,
}

struct Typed {
    ticked: Vec<LotId>,
    codes: Vec<LotCode>,
    to: PlaceId,
    hook: String,
    when: Option<OffsetDateTime>,
}

impl MoveForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let ticked: Option<Vec<LotId>> =
            self.lot.iter().map(|id| read.value("codes", id, "One of the ticks names no lot.")).collect();
        let codes = self.read_codes(&mut read);
        if self.lot.is_empty() && codes.as_ref().is_some_and(Vec::is_empty) {
            read.refuse("codes", "Give the code of what is moved, one on a line.");
        }
        if self.lot.len() + codes.as_ref().map_or(0, Vec::len) > MOST {
            read.refuse("codes", format!("No more than {MOST} lots are moved at once."));
        }
        let to = read.value("to", &self.to, "Choose where it goes.");
        let hook = if self.hook.trim().is_empty() {
            Some(String::new())
        } else {
            read.take("hook", one_line(&self.hook, HOOK))
        };
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { ticked: ticked?, codes: codes?, to: to?, hook: hook?, when: when? }))
    }

    fn read_codes(&self, read: &mut Reader) -> Option<Vec<LotCode>> {
        let mut codes = Vec::new();
        for line in self.codes.lines().filter(|line| !line.trim().is_empty()).take(MOST + 1) {
            match LotCode::parse(line) {
                Ok(code) => codes.push(code),
                Err(why) => {
                    let shown: String = line.trim().chars().take(30).collect();
                    read.refuse("codes", format!("{shown}: {why}"));
                    return None;
                }
            }
        }
        Some(codes)
    }
}

#[derive(Template)]
#[template(path = "hanging/move.html")]
struct MovePage {
    frame: Frame,
    form_id: Uuid,
    form: MoveForm,
    errors: Errors,
    ticked: Vec<Choice>,
    places: Vec<Choice>,
    may_hang: bool,
}

/// GET `/hanging/move`
pub async fn page(With(app): With<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let form = MoveForm { codes: asked.code, to: asked.to, ..MoveForm::default() };
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/hanging/move`
pub async fn shift(With(app): With<App>, me: Signer<Hang>, form: Form<MoveForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(to) => page::goto(&to.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<MoveForm>) -> Result<PlaceId> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else {
        return Ok(typed.to);
    };
    let to = setup::place(&mut pen, typed.to).await?;
    let to = to.ok_or_else(|| Refusal::at("to", "There is no such place."))?.named();
    let lots = lots(&mut pen, &typed).await?;
    let moved = LotsMoved { lots: lots.iter().map(Lot::named).collect(), to, hook: typed.hook };
    pen.append(entry::move_lots(moved, &lots)?).await?;
    pen.commit().await?;
    Ok(typed.to)
}

/// Every lot that was ticked or typed, each once.
async fn lots(db: &mut PgConnection, typed: &Typed) -> Result<Vec<Lot>> {
    let mut ids = typed.ticked.clone();
    let known = db::lots_with_codes(db, &typed.codes).await?;
    if let Some(code) = typed.codes.iter().find(|code| known.iter().all(|(_, known)| known != *code)) {
        return Err(Refusal::at("codes", format!("No lot has the code {code}.")).into());
    }
    ids.extend(known.iter().map(|(id, _)| *id));
    ids.sort_unstable();
    ids.dedup();
    let lots = book::db::lots(db, &ids).await?;
    if lots.len() < ids.len() {
        return Err(Refusal::at("codes", "One of the ticks names no lot of this shop.").into());
    }
    Ok(lots)
}

/// The one place that draws this page.
async fn ask(app: &App, me: &Me, status: StatusCode, form: MoveForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let ids: Vec<LotId> = form.lot.iter().filter_map(|id| id.parse().ok()).collect();
    let ticked = book::db::lots(&mut conn, &ids).await?;
    let places = setup::places(&mut conn).await?;
    let page = MovePage {
        frame: Frame::new(app, me, Area::Hanging),
        form_id: fresh_id(),
        form,
        errors,
        ticked: ticked
            .into_iter()
            .map(|lot| Choice::new(lot.id, lot.code.to_string()).note(lot.item_name))
            .collect(),
        places: places
            .iter()
            .map(|place| Choice::new(place.id, place.name.clone()).note(place.kind.word()))
            .collect(),
        may_hang: me.may(Right::Hang),
    };
    page::show(status, &page)
}
