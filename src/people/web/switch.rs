//! `/switch`: another person takes the tablet, by PIN. Only people who have given their password on this device.

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db::{self, OnDevice};
use super::super::{password, pin};
use super::door::{self, Proof, Tokens};
use super::sign_in::Next;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::PersonId;
use crate::web::{App, Form, Frame, Path, Query, fresh_id, page};

/// Somebody to switch to.
pub struct Door {
    pub href: String,
    pub name: String,
    pub initials: String,
    pub note: &'static str,
}

impl Door {
    fn of(one: &OnDevice, next: &str) -> Self {
        let query = serde_html_form::to_string([("next", super::own_address(next))]).unwrap_or_default();
        let note = match one {
            _ if !one.has_pin => "by password, no PIN yet",
            _ if one.locked() => "by password, after wrong PINs",
            _ => "",
        };
        let href = if note.is_empty() {
            format!("/switch/{}?{query}", one.person)
        } else {
            format!("/sign-in?{query}")
        };
        Self { href, name: one.name.clone(), initials: one.initials.clone(), note }
    }
}

/// Whom this device knows, but for `me`.
pub async fn doors(app: &App, headers: &HeaderMap, me: Option<PersonId>, next: &str) -> Result<Vec<Door>> {
    let Some(here) = door::here(app, headers) else { return Ok(vec![]) };
    let people = db::on_device(&mut *app.db().await?, here).await?;
    Ok(people.iter().filter(|one| Some(one.person) != me).map(|one| Door::of(one, next)).collect())
}

#[derive(Template)]
#[template(path = "people/switch.html")]
struct SwitchPage {
    frame: Frame,
    doors: Vec<Door>,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PinForm {
    pin: String,
    next: String,
}

#[derive(Template)]
#[template(path = "people/pin.html")]
struct PinPage {
    frame: Frame,
    form_id: Uuid,
    form: PinForm,
    errors: Errors,
    person: PersonId,
    name: String,
    locked: bool,
    /// What the sign-in page gets behind its question mark.
    query: String,
}

/// GET `/switch`
pub async fn page(State(app): State<App>, headers: HeaderMap, Query(next): Query<Next>) -> Result<Response> {
    let doors = doors(&app, &headers, None, &next.next).await?;
    page::show(StatusCode::OK, &SwitchPage { frame: Frame::open(&app), doors })
}

/// GET `/switch/{person}`
pub async fn ask_pin(
    State(app): State<App>,
    headers: HeaderMap,
    Path(person): Path<PersonId>,
    Query(next): Query<Next>,
) -> Result<Response> {
    let form = PinForm { next: next.next, ..PinForm::default() };
    ask(&app, StatusCode::OK, &headers, person, form, Errors::default()).await
}

/// POST `/switch/{person}`
pub async fn switch(
    State(app): State<App>,
    headers: HeaderMap,
    Path(person): Path<PersonId>,
    form: Form<PinForm>,
) -> Result<Response> {
    match begin(&app, &headers, person, &form).await {
        Ok(tokens) => tokens.lay(&app, page::goto(tokens.leads(&form.next))?),
        Err(Error::Form(errors)) => {
            ask(&app, StatusCode::UNPROCESSABLE_ENTITY, &headers, person, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn begin(app: &App, headers: &HeaderMap, person: PersonId, form: &PinForm) -> Result<Tokens> {
    let here = door::here(app, headers).ok_or(Error::NotFound)?;
    let mut conn = app.db().await?;
    known_here(&mut conn, here, person).await?;
    let hash = db::try_pin(&mut conn, here, person).await?.ok_or_else(locked)?;
    let typed = form.pin.trim();
    let fits = typed.len() <= pin::MOST && password::fits(app.site.hashing, typed.to_owned(), hash).await?;
    if !fits {
        let left = known_here(&mut conn, here, person).await?;
        return Err(if left.locked() { locked() } else { Refusal::at("pin", "This is not the PIN.") }.into());
    }
    db::pin_fits(&mut conn, &here.device, person).await?;
    door::come_in(app, &mut conn, headers, person, Proof::Pin).await
}

fn locked() -> Refusal {
    Refusal::at(
        "pin",
        "Five wrong PINs. Sign in with name and password on this device; then the PIN counts again.",
    )
}

/// A person whom the device does not know is nobody's business here: a 404.
async fn known_here(db: &mut sqlx::PgConnection, here: db::Here, person: PersonId) -> Result<OnDevice> {
    db::on_device(db, here).await?.into_iter().find(|one| one.person == person).ok_or(Error::NotFound)
}

async fn ask(
    app: &App,
    status: StatusCode,
    headers: &HeaderMap,
    person: PersonId,
    form: PinForm,
    errors: Errors,
) -> Result<Response> {
    let here = door::here(app, headers).ok_or(Error::NotFound)?;
    let one = known_here(&mut *app.db().await?, here, person).await?;
    let query = serde_html_form::to_string([("next", super::own_address(&form.next))])
        .map_err(anyhow::Error::from)?;
    let page = PinPage {
        frame: Frame::open(app),
        form_id: fresh_id(),
        form: PinForm { pin: String::new(), ..form },
        errors,
        person,
        locked: one.locked() || !one.has_pin,
        name: one.name,
        query,
    };
    page::show(status, &page)
}
