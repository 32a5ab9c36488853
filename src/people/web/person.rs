//! `/setup/people/{id}`: one person: roles, a new password, a PIN, retiring and coming back.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::entry::{self, PersonChanged, Secret};
use super::super::pin::Pin;
use super::super::{db, password};
use super::people::{PersonForm, Typed, roles};
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::PersonId;
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, fresh_id, page};

/// How many lines about the person the page shows.
const LINES: i64 = 50;

/// A new password or PIN.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct SecretForm {
    password: String,
    pin: String,
}

/// Nothing but the form's number.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Only {}

#[derive(Template)]
#[template(path = "people/person.html")]
struct PersonPage {
    frame: Frame,
    form_id: Uuid,
    form: PersonForm,
    errors: Errors,
    id: PersonId,
    name: String,
    initials: String,
    retired: bool,
    has_pin: bool,
    roles: Vec<Choice>,
    /// What they are, in words, for who may not change it.
    words: String,
    may_keep: bool,
    lines: Vec<Line>,
}

/// GET `/setup/people/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<PersonId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/setup/people/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PersonId>,
    form: Form<PersonForm>,
) -> Result<Response> {
    let done = write_change(&app, &me, id, &form).await;
    answer(&app, &me, id, Some(form.fields), done).await
}

async fn write_change(app: &App, me: &Signer<Keep>, id: PersonId, form: &Form<PersonForm>) -> Result<()> {
    let mut errors = Errors::default();
    let (Some(typed), true) = (form.read(&mut errors), errors.is_empty()) else { return Err(errors.into()) };
    let Typed { name, initials, sign_in, roles } = typed;
    let changed = PersonChanged { person: id, name, sign_in, initials, roles };
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    pen.append(entry::change(changed, &standing)?).await?;
    pen.commit().await
}

/// POST `/setup/people/{id}/password`
pub async fn reset(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PersonId>,
    form: Form<SecretForm>,
) -> Result<Response> {
    let done = write_password(&app, &me, id, &form).await;
    answer(&app, &me, id, None, done).await
}

/// All their sign-ins end: whoever has one open may be the reason for the reset.
async fn write_password(app: &App, me: &Signer<Keep>, id: PersonId, form: &Form<SecretForm>) -> Result<()> {
    password::choose("password", &form.password)?;
    let hash = password::hash(app.site.hashing, form.password.clone()).await?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    pen.append(entry::reset(Secret::Password, false, &standing)?).await?;
    db::new_password(&mut pen, id, &hash).await?;
    pen.commit().await
}

/// POST `/setup/people/{id}/pin`
pub async fn give_pin(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PersonId>,
    form: Form<SecretForm>,
) -> Result<Response> {
    let done = write_pin(&app, &me, id, &form).await;
    answer(&app, &me, id, None, done).await
}

async fn write_pin(app: &App, me: &Signer<Keep>, id: PersonId, form: &Form<SecretForm>) -> Result<()> {
    let pin = Pin::choose(&form.pin)?;
    let hash = password::hash(app.site.hashing, pin.digits()).await?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    pen.append(entry::reset(Secret::Pin, false, &standing)?).await?;
    db::keep_pin(&mut pen, id, &hash).await?;
    pen.commit().await
}

/// POST `/setup/people/{id}/retirement`
pub async fn retire(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PersonId>,
    form: Form<Only>,
) -> Result<Response> {
    let done = write_retirement(&app, &me, id, &form).await;
    answer(&app, &me, id, None, done).await
}

async fn write_retirement(app: &App, me: &Signer<Keep>, id: PersonId, form: &Form<Only>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    pen.append(entry::retire(&standing)?).await?;
    db::forget_secrets(&mut pen, id).await?;
    db::end_sessions(&mut pen, id).await?;
    pen.commit().await
}

/// POST `/setup/people/{id}/return`
pub async fn bring_back(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PersonId>,
    form: Form<SecretForm>,
) -> Result<Response> {
    let done = write_return(&app, &me, id, &form).await;
    answer(&app, &me, id, None, done).await
}

async fn write_return(app: &App, me: &Signer<Keep>, id: PersonId, form: &Form<SecretForm>) -> Result<()> {
    password::choose("password", &form.password)?;
    let hash = password::hash(app.site.hashing, form.password.clone()).await?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    pen.append(entry::bring_back(&standing)?).await?;
    db::new_password(&mut pen, id, &hash).await?;
    pen.commit().await
}

/// Where every one of these forms leads: back to the person, with what was wrong if anything was.
async fn answer(
    app: &App,
    me: &Signer<Keep>,
    id: PersonId,
    form: Option<PersonForm>,
    done: Result<()>,
) -> Result<Response> {
    match done {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, id, form, errors).await,
        Err(other) => Err(other),
    }
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: PersonId,
    form: Option<PersonForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let person = db::one(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let lines = ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?;
    let words: Vec<&str> = person.roles.iter().map(|role| role.word()).collect();
    let page = PersonPage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| PersonForm {
            name: person.name.clone(),
            initials: person.initials.clone(),
            sign_in: person.sign_in,
            roles: person.roles.iter().map(|role| role.word().to_owned()).collect(),
            password: String::new(),
        }),
        errors,
        id,
        name: person.name,
        initials: person.initials,
        retired: person.retired,
        has_pin: person.has_pin,
        roles: roles(),
        words: words.join(", "),
        may_keep: me.may(Right::Keep),
        lines,
    };
    page::show(status, &page)
}
