//! `/parasites/freezings`: freezings that somebody stated, and stating one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, FreezingRecorded};
use super::product::{length_text, length_unit};
use super::{Sheet, tabs};
use crate::book;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{LotId, Named, PlaceId};
use crate::measure::{LotCode, parse_length, parse_moment};
use crate::rights::Right;
use crate::rights::needs::Hang;
use crate::setup::{self, entry::PlaceKind};
use crate::standards::trichinella::{CAUTION, Group, TABLE_1};
use crate::web::parts::{Choice, Tab};
use crate::web::{App, Area, Form, Frame, Me, Reader, Signer, fresh_id, ledger, page};

/// How many freezings the page shows.
const SHOWN: i64 = 100;
/// The most lots on one form.
const MOST_LOTS: usize = 50;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct FreezingForm {
    lots: String,
    freezer: String,
    thickness: String,
    spaced: String,
    from: String,
    to: String,
}

struct Row {
    codes: String,
    freezer: String,
    freezer_href: String,
    thickness: String,
    group: &'static str,
    spaced: &'static str,
    from: String,
    to: String,
    line: String,
}

#[derive(Template)]
#[template(path = "parasites/freezings.html")]
struct FreezingsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    caution: &'static str,
    rows: Vec<Row>,
    table: Vec<(String, String, String)>,
    form_id: Uuid,
    form: FreezingForm,
    errors: Errors,
    freezers: Vec<Choice>,
    unit: &'static str,
    may_hang: bool,
}

/// GET `/parasites/freezings`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, FreezingForm::default(), Errors::default()).await
}

/// POST `/parasites/freezings`
pub async fn record(State(app): State<App>, me: Signer<Hang>, form: Form<FreezingForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/parasites/freezings"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

/// The codes on the form, each of a lot that stands.
async fn lots(conn: &mut PgConnection, text: &str) -> Result<Vec<Named<LotId>>> {
    let typed: Vec<&str> =
        text.split([',', ' ', ';', '\n']).map(str::trim).filter(|code| !code.is_empty()).collect();
    if typed.len() > MOST_LOTS {
        return Err(Refusal::at("lots", format!("No more than {MOST_LOTS} lots go on one line.")).into());
    }
    let mut found = Vec::with_capacity(typed.len());
    for code in typed {
        let unknown = || Refusal::at("lots", format!("There is no lot {code} in the book."));
        let read = code.parse::<LotCode>();
        let read = read.map_err(|_| {
            Refusal::at("lots", "Write the codes as they stand on the tags: 26329-02, 26329-03.")
        })?;
        let lot = book::db::lot_by_code(conn, &read).await?.ok_or_else(unknown)?;
        found.push(Named::new(lot.id, lot.code.to_string()));
    }
    Ok(found)
}

async fn sign(app: &App, me: &Me, form: &Form<FreezingForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let freezer: Option<PlaceId> = read.value("freezer", &form.freezer, "Choose the freezer.");
    let thickness = read.take("thickness", parse_length(&form.thickness, length_unit(&me.shop)));
    let moment = |text: &str| parse_moment(text).and_then(|local| me.shop.zone.instant(local));
    let from = if form.from.trim().is_empty() {
        read.refuse("from", "Say when it was begun.");
        None
    } else {
        read.take("from", moment(&form.from))
    };
    let to = if form.to.trim().is_empty() { Some(None) } else { read.take("to", moment(&form.to)).map(Some) };
    if form.lots.trim().is_empty() {
        read.refuse("lots", "Give the code of what is frozen.");
    }
    let (freezer, thickness, from, to) = read.finish(|| Some((freezer?, thickness?, from?, to?)))?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let place = setup::place(&mut pen, freezer).await?.filter(|place| place.kind == PlaceKind::Freezer);
    let freezer = place.ok_or_else(|| Refusal::at("freezer", "Choose the freezer."))?.named();
    let lots = lots(&mut pen, &form.lots).await?;
    let spaced = form.spaced == "yes";
    let freezing = FreezingRecorded { lots, freezer, thickness, spaced, from, to };
    pen.append(entry::record_freezing(freezing, me.now)?).await?;
    pen.commit().await
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: FreezingForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let moment = |at| ledger::moment(me, at);
    let row = |one: db::FreezingRow| Row {
        codes: one.codes,
        freezer_href: format!("/hanging/places/{}", one.freezer),
        freezer: one.freezer_name,
        thickness: length_text(&me.shop, one.thickness),
        group: Group::of(one.thickness).map_or("thicker than the table goes", Group::words),
        spaced: if one.spaced { "spaced" } else { "not spaced" },
        from: moment(one.from),
        to: one.to.map_or("lasting".into(), moment),
        line: format!("/entries/{}", one.seq),
    };
    let rows = db::freezings(&mut conn, SHOWN).await?.into_iter().map(row).collect();
    let places = setup::places(&mut conn).await?;
    let freezers = places.into_iter().filter(|place| place.kind == PlaceKind::Freezer && !place.retired);
    let table = TABLE_1.map(|row| {
        let days = [Group::One, Group::Two].map(|group| format!("{} days", row.days(group)));
        let [one, two] = days;
        (crate::standards::in_fahrenheit(row.degrees), one, two)
    });
    let page = FreezingsPage {
        frame: Frame::new(app, me, Area::Checks),
        tabs: tabs(Sheet::Freezings),
        caution: CAUTION,
        rows,
        table: table.into(),
        form_id: fresh_id(),
        form,
        errors,
        freezers: freezers.map(|place| Choice::new(place.id, place.name)).collect(),
        unit: length_unit(&me.shop).symbol(),
        may_hang: me.may(Right::Hang),
    };
    page::show(status, &page)
}
