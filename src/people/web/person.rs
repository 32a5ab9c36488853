//! `/setup/people/{id}`: one person: roles, a new password, a PIN, retiring and coming back.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::entry::{self, PersonChanged, Secret, Standing};
use super::super::pin::Pin;
use super::super::{db, password};
use super::people::{DAYS_NEEDED, PersonForm, Typed, days, roles};
use crate::book;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{Named, PersonId};
use crate::measure::{clock, day_long};
use crate::rights::needs::Keep;
use crate::rights::{self, Right};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line, State as Mark};
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

/// For how many days a sign-in is open.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct DaysForm {
    days: String,
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
    /// How an inspector's sign-in stands; none for who does more than read.
    admission: Option<Mark>,
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
    let Typed { name, initials, sign_in, roles, days } = typed;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let becomes = rights::reads_only(&roles) && !rights::reads_only(&standing.roles);
    if becomes && days.is_none() {
        return Err(Refusal::at("days", DAYS_NEEDED).into());
    }
    let after = Standing { person: Named::new(id, &name), roles: roles.clone(), ..standing.clone() };
    let changed = PersonChanged { person: id, name, sign_in, initials, roles };
    pen.append(entry::change(changed, &standing)?).await?;
    if let Some(days) = days {
        let from = pen.next().happened_at;
        pen.append(entry::admit(&after, days, from)?).await?;
    }
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

/// POST `/setup/people/{id}/admission`: an inspector's sign-in is open for so many days from now.
pub async fn admit(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PersonId>,
    form: Form<DaysForm>,
) -> Result<Response> {
    let done = write_admission(&app, &me, id, &form).await;
    let person = db::one(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let kept = PersonForm {
        name: person.name,
        initials: person.initials,
        sign_in: person.sign_in,
        roles: person.roles.iter().map(|role| role.word().to_owned()).collect(),
        days: form.fields.days,
        password: String::new(),
    };
    answer(&app, &me, id, Some(kept), done).await
}

async fn write_admission(app: &App, me: &Signer<Keep>, id: PersonId, form: &Form<DaysForm>) -> Result<()> {
    let mut errors = Errors::default();
    let days = days(&mut errors, &form.days);
    if days.is_none() && errors.is_empty() {
        errors.push(Refusal::at("days", DAYS_NEEDED));
    }
    let (Some(days), true) = (days, errors.is_empty()) else { return Err(errors.into()) };
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let from = pen.next().happened_at;
    pen.append(entry::admit(&standing, days, from)?).await?;
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
    let reader = db::reader(&mut conn, id).await?;
    let words: Vec<&str> = person.roles.iter().map(|role| role.word()).collect();
    let page = PersonPage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| PersonForm {
            name: person.name.clone(),
            initials: person.initials.clone(),
            sign_in: person.sign_in,
            roles: person.roles.iter().map(|role| role.word().to_owned()).collect(),
            days: String::new(),
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
        admission: reader.map(|reader| admission(me, &reader)),
        lines,
    };
    page::show(status, &page)
}

/// How an inspector's sign-in stands.
fn admission(me: &Me, reader: &db::Reader) -> Mark {
    let Some(until) = reader.until else { return Mark::new("late", "open, no end is set") };
    let local = me.shop.zone.local(until);
    let when = format!("{}, {}", day_long(local.date()), clock(local));
    if until <= me.now {
        Mark::new("gone", format!("ended {when}"))
    } else {
        Mark::new("met", format!("open until {when}"))
    }
}
