//! `/me`: who is signed in, and what is theirs: PIN, password, how light the pages are, switching and signing out.

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Deserialize;
use sqlx::Acquire;
use uuid::Uuid;

use super::super::pin::Pin;
use super::super::{db, password};
use super::door::{self, Proof, Tokens};
use super::switch::{Door, doors};
use crate::error::{Error, Errors, Refusal, Result};
use crate::web::parts::{Choice, Notice};
use crate::web::{App, Area, Caller, Form, Frame, Me, Query, fresh_id, page};

/// What has just been done, for the notice on top.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Done {
    done: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PinForm {
    pin: String,
    pin_password: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PasswordForm {
    password: String,
    new_password: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ThemeForm {
    theme: String,
}

#[derive(Template)]
#[template(path = "people/me.html")]
struct MePage {
    frame: Frame,
    form_id: Uuid,
    errors: Errors,
    name: String,
    initials: String,
    roles: String,
    doors: Vec<Door>,
    theme: String,
    themes: Vec<Choice>,
}

/// GET `/me`
pub async fn page(
    State(app): State<App>,
    me: Me,
    headers: HeaderMap,
    Query(done): Query<Done>,
) -> Result<Response> {
    let said = match done.done.as_str() {
        "pin" => Some("Your PIN is set. It counts on every device where you have given your password."),
        "password" => Some("Your password is changed. Everywhere else you are signed out."),
        _ => None,
    };
    ask(&app, &me, StatusCode::OK, &headers, Errors::default(), said).await
}

/// POST `/me/pin`
pub async fn set_pin(
    State(app): State<App>,
    me: Me,
    headers: HeaderMap,
    caller: Caller,
    form: Form<PinForm>,
) -> Result<Response> {
    match keep_pin(&app, &me, caller, &form).await {
        Ok(()) => page::goto("/me?done=pin"),
        Err(Error::Form(errors)) => refused(&app, &me, &headers, errors).await,
        Err(other) => Err(other),
    }
}

async fn keep_pin(app: &App, me: &Me, caller: Caller, form: &PinForm) -> Result<()> {
    let pin = Pin::choose(&form.pin)?;
    let mut conn = app.db().await?;
    door::proves_again(app, &mut conn, me.person.id, &form.pin_password, caller, "pin_password").await?;
    let hash = password::hash(app.site.hashing, pin.digits()).await?;
    db::keep_pin(&mut conn, me.person.id, &hash).await?;
    Ok(())
}

/// POST `/me/password`
pub async fn set_password(
    State(app): State<App>,
    me: Me,
    headers: HeaderMap,
    caller: Caller,
    form: Form<PasswordForm>,
) -> Result<Response> {
    match change_password(&app, &me, &headers, caller, &form).await {
        Ok(tokens) => tokens.lay(&app, page::goto("/me?done=password")?),
        Err(Error::Form(errors)) => refused(&app, &me, &headers, errors).await,
        Err(other) => Err(other),
    }
}

/// Whoever knew the old password is out everywhere, and comes in here under a new token.
async fn change_password(
    app: &App,
    me: &Me,
    headers: &HeaderMap,
    caller: Caller,
    form: &PasswordForm,
) -> Result<Tokens> {
    password::choose("new_password", &form.new_password)?;
    let mut conn = app.db().await?;
    door::proves_again(app, &mut conn, me.person.id, &form.password, caller, "password").await?;
    let hash = password::hash(app.site.hashing, form.new_password.clone()).await?;
    let mut tx = conn.begin().await?;
    db::keep_password(&mut tx, me.person.id, &hash).await?;
    db::end_sessions(&mut tx, me.person.id).await?;
    let tokens = door::come_in(app, &mut tx, headers, me.person.id, Proof::Password).await?;
    tx.commit().await?;
    Ok(tokens)
}

/// POST `/me/theme`
pub async fn set_theme(
    State(app): State<App>,
    me: Me,
    headers: HeaderMap,
    form: Form<ThemeForm>,
) -> Result<Response> {
    let theme = match form.theme.as_str() {
        "device" => "",
        "light" => "light",
        "dark" => "dark",
        _ => {
            let errors = Refusal::at("theme", "Choose one of the three.").into();
            return refused(&app, &me, &headers, errors).await;
        }
    };
    db::keep_theme(&mut *app.db().await?, me.person.id, theme).await?;
    page::goto("/me")
}

/// POST `/me/sign-out`
pub async fn sign_out(State(app): State<App>, me: Me, headers: HeaderMap) -> Result<Response> {
    let mut conn = app.db().await?;
    db::end_session(&mut conn, &me.session).await?;
    if let Some(here) = door::here(&app, &headers) {
        db::forget_on_device(&mut conn, &here.device, me.person.id).await?;
    }
    door::take_out(&app, page::goto("/sign-in")?)
}

/// POST `/me/sign-out-everywhere`
pub async fn sign_out_everywhere(State(app): State<App>, me: Me) -> Result<Response> {
    db::end_sessions(&mut *app.db().await?, me.person.id).await?;
    door::take_out(&app, page::goto("/sign-in")?)
}

async fn refused(app: &App, me: &Me, headers: &HeaderMap, errors: Errors) -> Result<Response> {
    ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, headers, errors, None).await
}

/// Secrets are not typed back into the page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    headers: &HeaderMap,
    errors: Errors,
    done: Option<&str>,
) -> Result<Response> {
    let roles: Vec<&str> = me.person.roles.iter().map(|role| role.word()).collect();
    let mut frame = Frame::new(app, me, Area::Elsewhere);
    frame.notice = done.map(|text| Notice::new("met", text));
    let theme = if me.theme.is_empty() { "device" } else { me.theme };
    let page = MePage {
        frame,
        form_id: fresh_id(),
        errors,
        name: me.person.name.clone(),
        initials: me.person.initials.clone(),
        roles: roles.join(", "),
        doors: doors(app, headers, Some(me.person.id), "/").await?,
        theme: theme.to_owned(),
        themes: vec![
            Choice::new("device", "As the device"),
            Choice::new("light", "Light"),
            Choice::new("dark", "Dark"),
        ],
    };
    page::show(status, &page)
}
