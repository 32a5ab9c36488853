//! `/hanging/weigh`: the fast round. Code, weight, next. A code alone shows the piece that it belongs to, so that a scanner's
//! Enter leads to the weight; with a place its pieces are offered one after another along the rail.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, PieceWeighed, Weighed};
use super::super::hung::Hung;
use super::rows;
use crate::book::db::Read;
use crate::book::{self, Entry, Lot, Seq};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{InstrumentId, Named, PlaceId};
use crate::measure::{Grams, LotCode};
use crate::rights::Right;
use crate::rights::needs::Hang;
use crate::setup;
use crate::setup::entry::Measures;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Fact, Line};
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

/// How many weigh-ins of today stand under the form.
const SHOWN: i64 = 12;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct WeighForm {
    code: String,
    /// The code that the page was drawn for: a changed one is looked up before it is signed.
    known: String,
    weight: String,
    weight_unit: String,
    scale: String,
    reason: String,
    again: String,
    when: String,
    /// The place whose pieces are weighed one after another.
    place: String,
}

/// What stands behind the question mark of this page.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    code: String,
    place: String,
    unit: String,
    scale: String,
    signed: String,
}

impl Asked {
    fn form(&self, shop: &Shop) -> WeighForm {
        let unit =
            if self.unit.is_empty() { shop.weight_unit().symbol().to_owned() } else { self.unit.clone() };
        WeighForm {
            code: self.code.clone(),
            weight_unit: unit,
            scale: self.scale.clone(),
            place: self.place.clone(),
            ..WeighForm::default()
        }
    }
}

/// The address of the round; both may be empty.
pub fn path(code: &str, place: &str) -> String {
    let asked: Vec<(&str, &str)> =
        [("code", code), ("place", place)].into_iter().filter(|(_, value)| !value.is_empty()).collect();
    with(&asked)
}

fn with(asked: &[(&str, &str)]) -> String {
    match serde_html_form::to_string(asked) {
        Ok(query) if !query.is_empty() => format!("/hanging/weigh?{query}"),
        _ => "/hanging/weigh".to_owned(),
    }
}

struct Typed {
    code: LotCode,
    weight: Grams,
    scale: Option<InstrumentId>,
    reason: String,
    when: Option<time::OffsetDateTime>,
}

impl WeighForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let code = read.take("code", LotCode::parse(&self.code));
        let weight = read.weight("weight", &self.weight, &self.weight_unit);
        let scale = read.maybe("scale", &self.scale, "Choose the scale, or none.");
        let reason = read.line_or_empty("reason", &self.reason);
        let when = read.when(&self.when);
        read.finish(|| {
            Some(Typed { code: code?, weight: weight?, scale: scale?, reason: reason?, when: when? })
        })
    }

    /// A code without a weight, other than the one that the page was drawn for, asks for that piece.
    fn looks_up(&self) -> Option<String> {
        let code = LotCode::parse(&self.code).ok()?.to_string();
        (self.weight.trim().is_empty() && code != self.known).then_some(code)
    }
}

/// The piece that the page is about to weigh.
struct OnScale {
    href: String,
    code: String,
    name: String,
    facts: Vec<Fact>,
}

/// The round through a place.
struct Round {
    name: String,
    href: String,
    said: String,
    rest: Vec<Fact>,
}

#[derive(Template)]
#[template(path = "hanging/weigh.html")]
struct WeighPage {
    frame: Frame,
    form_id: Uuid,
    form: WeighForm,
    errors: Errors,
    piece: Option<OnScale>,
    round: Option<Round>,
    scales: Vec<Choice>,
    lines: Vec<Line>,
    asks_again: bool,
    may_hang: bool,
}

/// GET `/hanging/weigh`
pub async fn page(With(app): With<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let signed = asked.signed.parse().ok().map(Seq);
    let form = asked.form(&me.shop);
    ask(&app, &me, StatusCode::OK, form, Errors::default(), signed).await
}

/// POST `/hanging/weigh`
pub async fn weigh(With(app): With<App>, me: Signer<Hang>, form: Form<WeighForm>) -> Result<Response> {
    if let Some(code) = form.looks_up() {
        let asked = [
            ("code", code.as_str()),
            ("place", &form.place),
            ("unit", &form.weight_unit),
            ("scale", &form.scale),
        ];
        return page::goto(&with(&asked));
    }
    match sign(&app, &me, &form).await {
        Ok(seq) => {
            let signed = seq.map(|seq| seq.to_string()).unwrap_or_default();
            let asked = [
                ("place", form.place.as_str()),
                ("unit", &form.weight_unit),
                ("scale", &form.scale),
                ("signed", &signed),
            ];
            page::goto(&with(&asked))
        }
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors, None).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<WeighForm>) -> Result<Option<Seq>> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else {
        return book::db::seq_of(&mut *app.db().await?, form.once.id()?).await;
    };
    let no_lot = || Refusal::at("code", format!("No lot has the code {}.", typed.code));
    let lot = book::db::lot_by_code(&mut pen, &typed.code).await?.ok_or_else(no_lot)?;
    let hook = db::on_the_hook(&mut pen, lot.id).await?.ok_or(Error::NotFound)?;
    let weighed = Weighed {
        weight: typed.weight,
        reason: typed.reason,
        read_again: form.again == "yes",
        instrument: scale(&mut pen, typed.scale).await?,
        at: pen.next().happened_at,
    };
    let seq = pen.append(entry::weigh_in(weighed, &hook, &me.shop.say())?).await?;
    pen.commit().await?;
    Ok(Some(seq))
}

async fn scale(db: &mut PgConnection, id: Option<InstrumentId>) -> Result<Option<Named<InstrumentId>>> {
    let Some(id) = id else { return Ok(None) };
    let scale = setup::instrument(db, id).await?.filter(|one| one.measures == Measures::Weight);
    let scale = scale.ok_or_else(|| Refusal::at("scale", "There is no such scale."))?;
    Ok(Some(scale.named()))
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    mut form: WeighForm,
    errors: Errors,
    signed: Option<Seq>,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let instruments = setup::instruments(&mut conn).await?;
    let scales = instruments.into_iter().filter(|one| one.measures == Measures::Weight);
    let round = round(&mut conn, me, &mut form).await?;
    let piece = piece(&mut conn, me, &form.code).await?;
    form.known = piece.as_ref().map(|piece| piece.code.clone()).unwrap_or_default();
    let lines = today(app, me, &mut conn, signed).await?;
    let page = WeighPage {
        frame: Frame::new(app, me, Area::Hanging),
        form_id: fresh_id(),
        asks_again: errors.of("again").is_some() || form.again == "yes",
        form,
        errors,
        piece,
        round,
        scales: scales.map(|scale| Choice::new(scale.id, scale.name)).collect(),
        lines,
        may_hang: me.may(Right::Hang),
    };
    page::show(status, &page)
}

/// The pieces of the round's place that nobody has weighed today; the first of them is next where no code is typed.
async fn round(db: &mut PgConnection, me: &Me, form: &mut WeighForm) -> Result<Option<Round>> {
    let Ok(id) = form.place.parse::<PlaceId>() else { return Ok(None) };
    let Some(place) = setup::place(db, id).await? else { return Ok(None) };
    let pieces = db::hanging_in(db, id).await?;
    let done = |piece: &&Hung| piece.last_at.is_some_and(|at| me.shop.date(at) == me.today());
    let rest: Vec<&Hung> = pieces.iter().filter(|piece| !done(piece)).collect();
    if form.code.trim().is_empty() {
        form.code = rest.first().map(|piece| piece.code.to_string()).unwrap_or_default();
    }
    let said = match rest.len() {
        0 => format!("all {} here are weighed in today", rows::count(pieces.len())),
        left => format!("{left} of {} still to weigh today", rows::count(pieces.len())),
    };
    let rest = rest.iter().map(|piece| {
        let code = piece.code.to_string();
        Fact::new(piece.where_it_is(), code.clone()).link(path(&code, &form.place))
    });
    Ok(Some(Round { name: place.name, href: id.path(), said, rest: rest.collect() }))
}

async fn piece(db: &mut PgConnection, me: &Me, code: &str) -> Result<Option<OnScale>> {
    let Ok(code) = LotCode::parse(code) else { return Ok(None) };
    let Some(lot) = book::db::lot_by_code(db, &code).await? else { return Ok(None) };
    let hung = db::hung(db, lot.id).await?;
    Ok(Some(OnScale {
        href: lot.id.path(),
        code: lot.code.to_string(),
        name: lot.item_name.clone(),
        facts: facts(me, &lot, hung.as_ref()),
    }))
}

fn facts(me: &Me, lot: &Lot, hung: Option<&Hung>) -> Vec<Fact> {
    let mut facts = vec![Fact::new("Before", me.shop.weight(lot.grams))];
    let Some(piece) = hung else { return facts };
    facts.push(Fact::new("Hangs", piece.where_it_is()));
    facts.push(Fact::new("Loss so far", piece.loss().percent.text()));
    if let (Some(target), Some(weight)) = (piece.target_loss, piece.target_weight()) {
        facts.push(Fact::new("Target", format!("{}, {}", target.text(), me.shop.weight(weight))));
    }
    facts
}

/// The weigh-ins of today, the latest first, the one just signed marked.
async fn today(app: &App, me: &Me, db: &mut PgConnection, signed: Option<Seq>) -> Result<Vec<Line>> {
    let since = me.shop.zone.start_of(me.today());
    let entries = book::db::of_kind(db, PieceWeighed::KIND, since, SHOWN).await?;
    let style = Style { strike: me.may(Right::Hang), fresh: signed, ..Style::default() };
    entries.iter().map(|entry| line(app, me, entry, style)).collect()
}

fn line(app: &App, me: &Me, entry: &Read, style: Style) -> Result<Line> {
    let line = ledger::line(&app.book.kinds, me, entry, style)?;
    Ok(Line { second: difference(me, entry), ..line })
}

/// What a weigh-in lost or gained against the weight before it; empty for a line of another kind.
pub fn difference(me: &Me, entry: &Read) -> String {
    if entry.kind != PieceWeighed::KIND {
        return String::new();
    }
    serde_json::from_str::<PieceWeighed>(&entry.body)
        .map(|weighed| me.shop.weight(-weighed.lost()))
        .unwrap_or_default()
}
