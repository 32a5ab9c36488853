//! `/checks/record`: take a reading of a place, a lot or a batch. Where limits are in force it is a check.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::super::db::{self, Found};
use super::super::entry::{self, Against, LimitWritten, Quantity, ReadingTaken, Recorded, Value};
use crate::book::Pen;
use crate::deviations::{self, On, Subject};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, DeviationId, InstrumentId, LotId, Named, PlaceId};
use crate::measure::LotCode;
use crate::rights::Right;
use crate::rights::needs::Check;
use crate::setup;
use crate::web::parts::{Choice, Line, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Signer, fresh_id, ledger, page};

/// A reading further back is taken for a slip in the date.
const FURTHEST_BACK: Duration = Duration::days(31);
/// How far back the page shows the readings of the same thing, and how many.
const SHOWN: (Duration, usize) = (Duration::days(14), 8);

/// What the reading is taken on: one of these. `code` is typed or scanned; `quantity` is what a link asks for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    place: String,
    lot: String,
    batch: String,
    code: String,
    quantity: String,
}

impl Asked {
    fn on(&self) -> Option<On> {
        on(&self.place, &self.lot, &self.batch)
    }
}

fn on(place: &str, lot: &str, batch: &str) -> Option<On> {
    let place = place.parse::<PlaceId>().ok().map(On::Place);
    let lot = || lot.parse::<LotId>().ok().map(On::Lot);
    place.or_else(lot).or_else(|| batch.parse::<BatchId>().ok().map(On::Batch))
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct RecordForm {
    place: String,
    lot: String,
    batch: String,
    quantity: String,
    value: String,
    instrument: String,
    /// "yes": the batch ends its stage with this.
    end: String,
    when: String,
}

struct Typed {
    value: Value,
    instrument: Option<InstrumentId>,
    when: Option<OffsetDateTime>,
}

impl RecordForm {
    fn read(&self, me: &Me) -> Result<Typed, Errors> {
        let mut read = Reader::new(&me.shop);
        let quantity = read.value("quantity", &self.quantity, "Choose what was measured.");
        let value = quantity.and_then(|quantity| super::value(&mut read, "value", quantity, &self.value));
        let instrument = read.maybe("instrument", &self.instrument, "Choose what it was measured with.");
        let when = read.when(&self.when);
        if when.flatten().is_some_and(|when| me.now - when > FURTHEST_BACK) {
            read.refuse("when", "This is more than a month ago. Look at the date.");
        }
        read.finish(|| Some(Typed { value: value?, instrument: instrument?, when: when? }))
    }
}

/// GET `/checks/record`
pub async fn page(State(app): State<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    if let Some(on) = asked.on() {
        let form = RecordForm { quantity: asked.quantity, ..RecordForm::default() };
        return ask(&app, &me, StatusCode::OK, on, form, Errors::default()).await;
    }
    if asked.code.trim().is_empty() {
        return choose(&app, &me, StatusCode::OK, asked, Errors::default()).await;
    }
    match find(&app, &asked.code).await {
        Ok(on) => page::goto(&on.record_path()),
        Err(Error::Form(errors)) => choose(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, asked, errors).await,
        Err(other) => Err(other),
    }
}

async fn find(app: &App, code: &str) -> Result<On> {
    let code = LotCode::parse(code).map_err(|why| Refusal::at("code", why.to_string()))?;
    let found = db::find(&mut *app.db().await?, &code).await?;
    Ok(found.ok_or_else(|| Refusal::at("code", format!("No lot and no batch has the code {code}.")))?)
}

/// POST `/checks/record`
pub async fn record(State(app): State<App>, me: Signer<Check>, form: Form<RecordForm>) -> Result<Response> {
    let on = on(&form.place, &form.lot, &form.batch).ok_or(Error::NotFound)?;
    match sign(&app, &me, on, &form).await {
        Ok(Some(deviation)) => page::goto(&deviation.path()),
        Ok(None) => page::goto("/checks"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, on, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

/// Signs the reading; the deviation that it opened, where it did.
async fn sign(app: &App, me: &Me, on: On, form: &Form<RecordForm>) -> Result<Option<DeviationId>> {
    let typed = form.read(me)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else {
        let id = DeviationId::made_by(form.once.id()?);
        return Ok(deviations::deviation(&mut *app.db().await?, id).await?.map(|deviation| deviation.id));
    };
    let end = form.end == "yes";
    let deviation = take(&mut pen, me, on, typed.value, typed.instrument, end).await?;
    app.after(&mut pen, me, on.into()).await?;
    pen.commit().await?;
    Ok(deviation)
}

/// Signs a reading; where limits are in force for it, it is a check. `end`: the batch ends its stage with it. The deviation
/// that it opened, where it did.
pub async fn take(
    pen: &mut Pen,
    me: &Me,
    on: On,
    value: Value,
    instrument: Option<InstrumentId>,
    end: bool,
) -> Result<Option<DeviationId>> {
    let found = db::subject(pen, on).await?.ok_or(Error::NotFound)?;
    let instrument = self::instrument(pen, instrument).await?;
    let limits = db::limits(pen).await?;
    let against = entry::against(&limits, &found.here, value.quantity(), end);
    let lots = concerned(pen, &found, &limits, &against, value).await?;
    let reading = ReadingTaken { subject: found.subject, value, instrument };
    match entry::record(reading, against, lots, pen.next().id, me.shop.system) {
        Recorded::Reading(reading) => {
            pen.append(reading).await?;
            Ok(None)
        }
        Recorded::Check(check) => {
            let deviation = check.deviation.as_ref().map(|opened| opened.deviation);
            pen.append(check).await?;
            Ok(deviation)
        }
    }
}

async fn instrument(
    conn: &mut PgConnection,
    id: Option<InstrumentId>,
) -> Result<Option<Named<InstrumentId>>> {
    let Some(id) = id else { return Ok(None) };
    let instrument = setup::instrument(conn, id).await?;
    let instrument = instrument.ok_or_else(|| Refusal::at("instrument", "There is no such instrument."))?;
    Ok(Some(instrument.named()))
}

/// The lots that a reading out of limits concerns; none where it is within.
async fn concerned(
    pen: &mut Pen,
    found: &Found,
    limits: &[LimitWritten],
    against: &[Against],
    value: Value,
) -> Result<Vec<Named<LotId>>> {
    let missed: Vec<&Against> = against.iter().filter(|limit| !limit.met(value)).collect();
    if missed.is_empty() {
        return Ok(Vec::new());
    }
    let at = pen.next().happened_at;
    let of_its_batch = limits
        .iter()
        .filter(|limit| missed.iter().any(|missed| missed.limit.id == limit.limit))
        .any(|limit| limit.applies.is_of_batches());
    match (found.subject.on(), found.batch) {
        (On::Batch(batch), _) => db::lots_of_batch(pen, batch).await,
        // One piece was measured for all: what a limit says of a batch, it says of each piece.
        (On::Lot(_), Some(batch)) if of_its_batch => db::lots_of_batch(pen, batch).await,
        (On::Lot(lot), _) => db::lots_of_lot(pen, lot, at).await,
        (On::Place(place), _) => db::lots_of_place(pen, place, at).await,
    }
}

struct Tile {
    href: String,
    name: String,
    kind: &'static str,
}

#[derive(Template)]
#[template(path = "checks/choose.html")]
struct ChoosePage {
    frame: Frame,
    asked: Asked,
    errors: Errors,
    places: Vec<Tile>,
}

/// The page that asks what the reading is taken on.
async fn choose(app: &App, me: &Me, status: StatusCode, asked: Asked, errors: Errors) -> Result<Response> {
    let places = setup::places(&mut *app.db().await?).await?.into_iter().map(|place| Tile {
        href: On::Place(place.id).record_path(),
        name: place.name,
        kind: place.kind.word(),
    });
    let frame = Frame::new(app, me, Area::Checks);
    page::show(status, &ChoosePage { frame, asked, errors, places: places.collect() })
}

struct LimitRow {
    name: String,
    quantity: &'static str,
    band: String,
    holds: String,
    source: String,
}

#[derive(Template)]
#[template(path = "checks/record.html")]
struct RecordPage {
    frame: Frame,
    form_id: Uuid,
    form: RecordForm,
    errors: Errors,
    name: String,
    coded: bool,
    what: String,
    href: String,
    quantities: Vec<Choice>,
    instruments: Vec<Choice>,
    limits: Vec<LimitRow>,
    /// What the box says that makes it the check at the end of a stage; empty: no such limit.
    end: String,
    hint: String,
    lines: Vec<Line>,
    may_check: bool,
}

/// The one place that draws the form.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    on: On,
    form: RecordForm,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let found = db::subject(&mut conn, on).await?.ok_or(Error::NotFound)?;
    let mut limits = db::limits(&mut conn).await?;
    limits.retain(|limit| !limit.retired && limit.holds_for(&found.here));
    let instruments = setup::instruments(&mut conn).await?;
    let measuring = instruments.iter().filter(|with| with.measures != setup::entry::Measures::Weight);
    let page = RecordPage {
        frame: Frame::new(app, me, Area::Checks),
        form_id: fresh_id(),
        form: drawn(form, on, &limits),
        errors,
        name: found.subject.name().to_owned(),
        coded: !matches!(found.subject, Subject::Place(_)),
        what: found.what.clone(),
        href: on.path(),
        quantities: quantities(me, &limits),
        instruments: measuring
            .map(|with| Choice::new(with.id, with.name.clone()).note(with.measures.word()))
            .collect(),
        limits: limits.iter().map(|limit| row(me, limit)).collect(),
        end: end(me, &limits),
        hint: format!("A bare temperature is in {}.", me.shop.temperature_unit().symbol()),
        lines: lines(me, &mut conn, on).await?,
        may_check: me.may(Right::Check),
    };
    page::show(status, &page)
}

/// The form with what it is about, and the quantity that there is a limit for when none was chosen.
fn drawn(form: RecordForm, on: On, limits: &[LimitWritten]) -> RecordForm {
    let text = |id: Option<Uuid>| id.map(|id| id.to_string()).unwrap_or_default();
    let quantity = if form.quantity.is_empty() {
        limits.iter().map(|limit| limit.quantity).min().unwrap_or(Quantity::Temperature).word().to_owned()
    } else {
        form.quantity
    };
    RecordForm { place: text(on.place()), lot: text(on.lot()), batch: text(on.batch()), quantity, ..form }
}

fn quantities(me: &Me, limits: &[LimitWritten]) -> Vec<Choice> {
    let note = |quantity: Quantity| {
        let bands = limits.iter().filter(|limit| limit.quantity == quantity);
        let bands: Vec<String> = bands.map(|limit| limit.band(me.shop.system)).collect();
        if bands.is_empty() { quantity.unit(me.shop.system).to_owned() } else { bands.join(", ") }
    };
    Quantity::ALL.into_iter().map(|q| Choice::new(q.word(), q.name()).note(note(q))).collect()
}

fn row(me: &Me, limit: &LimitWritten) -> LimitRow {
    LimitRow {
        name: limit.name.clone(),
        quantity: limit.quantity.name(),
        band: limit.band(me.shop.system),
        holds: limit.held_for(),
        source: limit.source.clone(),
    }
}

fn end(me: &Me, limits: &[LimitWritten]) -> String {
    let at_end = limits.iter().find(|limit| matches!(limit.applies, entry::Applies::End(_)));
    at_end.map_or_else(String::new, |limit| {
        let (word, band) = (limit.applies.word(), limit.band(me.shop.system));
        format!("This ends the {word}: hold it against {band}")
    })
}

/// The latest readings of the same thing.
async fn lines(me: &Me, conn: &mut PgConnection, on: On) -> Result<Vec<Line>> {
    let (back, count) = SHOWN;
    let readings = db::readings_of(conn, on, me.now - back, me.now + Duration::minutes(1)).await?;
    let line = |reading: &db::Reading| Line {
        time: ledger::lately(me, reading.at),
        what: reading.value.quantity().name().to_owned(),
        why: reading.instrument.clone(),
        figure: reading.value.text(me.shop.system),
        state: reading
            .met
            .map(|met| if met { Mark::new("met", "met") } else { Mark::new("out", "out of limits") }),
        href: format!("/entries/{}", reading.seq),
        ..Line::default()
    };
    Ok(readings.iter().rev().take(count).map(line).collect())
}
