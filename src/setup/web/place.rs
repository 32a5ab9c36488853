//! `/setup/places/{id}` and `/setup/places/new`: one place. What lies in it is shown by the pages of hanging.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db::{self, Place};
use super::super::entry::{self, PlaceKind, PlaceWritten};
use super::tick;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::PlaceId;
use crate::measure::note;
use crate::rights::needs::Keep;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

/// The most hours between two readings: two weeks.
const MOST_HOURS: u16 = 336;

/// The longest note, in characters.
const NOTE: usize = 300;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PlaceForm {
    name: String,
    kind: String,
    within: String,
    read_every: String,
    note: String,
    retired: String,
}

impl PlaceForm {
    fn of(place: &Place) -> Self {
        Self {
            name: place.name.clone(),
            kind: place.kind.word().to_owned(),
            within: place.within.map(|id| id.to_string()).unwrap_or_default(),
            read_every: place.read_every.map(|hours| hours.to_string()).unwrap_or_default(),
            note: place.note.clone(),
            retired: tick(place.retired),
        }
    }

    fn read(&self, place: PlaceId, shop: &Shop) -> Result<PlaceWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the name.");
        let kind = read.value("kind", &self.kind, "Choose what it is.");
        let within = read.maybe("within", &self.within, "Choose the place that it is in, or none.");
        let read_every = if self.read_every.trim().is_empty() {
            Some(None)
        } else {
            read.count("read_every", &self.read_every, 1, MOST_HOURS).map(Some)
        };
        let note = read.take("note", note(&self.note, NOTE));
        read.finish(|| {
            Some(PlaceWritten {
                place,
                name: name?,
                kind: kind?,
                within: within?,
                read_every: read_every?,
                note: note?,
                retired: self.retired == "yes",
            })
        })
    }
}

#[derive(Template)]
#[template(path = "setup/place.html")]
struct PlacePage {
    frame: Frame,
    /// Where the form goes.
    action: String,
    /// Empty for a new one.
    name: String,
    form_id: Uuid,
    form: PlaceForm,
    errors: Errors,
    kinds: Vec<Choice>,
    places: Vec<Choice>,
}

/// GET `/setup/places/new`
pub async fn fresh(State(app): State<App>, me: Signer<Keep>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, PlaceForm::default(), Errors::default()).await
}

/// GET `/setup/places/{id}`
pub async fn page(State(app): State<App>, me: Signer<Keep>, Path(id): Path<PlaceId>) -> Result<Response> {
    let place = db::any_place(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let form = PlaceForm::of(&place);
    ask(&app, &me, StatusCode::OK, Some(place), form, Errors::default()).await
}

/// POST `/setup/places`
pub async fn add(State(app): State<App>, me: Signer<Keep>, form: Form<PlaceForm>) -> Result<Response> {
    let done = match form.once.id() {
        Ok(id) => sign(&app, &me, PlaceId::made_by(id), &form).await,
        Err(refusal) => Err(refusal.into()),
    };
    answer(&app, &me, None, form.fields, done).await
}

/// POST `/setup/places/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PlaceId>,
    form: Form<PlaceForm>,
) -> Result<Response> {
    let place = db::any_place(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let done = sign(&app, &me, id, &form).await;
    answer(&app, &me, Some(place), form.fields, done).await
}

async fn sign(app: &App, me: &Me, id: PlaceId, form: &Form<PlaceForm>) -> Result<()> {
    let place = form.read(id, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    if let Some(within) = place.within {
        let around = db::place(&mut pen, within).await?;
        around.ok_or_else(|| Refusal::at("within", "There is no such place in use."))?;
    }
    let stands = db::place_stands(&mut pen, id, place.within).await?;
    pen.append(entry::write_place(place, &stands)?).await?;
    pen.commit().await
}

async fn answer(
    app: &App,
    me: &Me,
    place: Option<Place>,
    form: PlaceForm,
    done: Result<()>,
) -> Result<Response> {
    match done {
        Ok(()) => page::goto("/setup/places"),
        Err(Error::Form(errors)) => ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, place, form, errors).await,
        Err(other) => Err(other),
    }
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    place: Option<Place>,
    form: PlaceForm,
    errors: Errors,
) -> Result<Response> {
    let places = db::places(&mut *app.db().await?).await?;
    let id = place.as_ref().map(|place| place.id);
    let others = places.into_iter().filter(|other| Some(other.id) != id);
    let page = PlacePage {
        frame: Frame::new(app, me, Area::Setup),
        action: id.map_or_else(|| "/setup/places".to_owned(), |id| format!("/setup/places/{id}")),
        name: place.map(|place| place.name).unwrap_or_default(),
        form_id: fresh_id(),
        form,
        errors,
        kinds: PlaceKind::ALL.into_iter().map(|kind| Choice::new(kind.word(), kind.word())).collect(),
        places: others.map(|other| Choice::new(other.id, other.name)).collect(),
    };
    page::show(status, &page)
}
