//! `/sign-in`: name and password.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::{db, password};
use crate::error::{Error, Errors, Refusal, Result};
use crate::web::{App, Form, Frame, Query, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct SignInForm {
    sign_in: String,
    password: String,
    next: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Next {
    next: String,
}

#[derive(Template)]
#[template(path = "people/sign_in.html")]
struct SignInPage {
    frame: Frame,
    form_id: Uuid,
    form: SignInForm,
    errors: Errors,
}

/// GET `/sign-in`
pub async fn page(State(app): State<App>, Query(next): Query<Next>) -> Result<Response> {
    if !crate::web::db::founded(&mut *app.db().await?).await? {
        return page::goto("/start");
    }
    let form = SignInForm { next: next.next, ..SignInForm::default() };
    ask(&app, StatusCode::OK, form, Errors::default())
}

/// POST `/sign-in`
pub async fn sign_in(State(app): State<App>, form: Form<SignInForm>) -> Result<Response> {
    match begin(&app, &form).await {
        Ok(token) => super::with_cookie(&app, &token, page::goto(super::own_address(&form.next))?),
        Err(Error::Form(errors)) => ask(&app, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors),
        Err(other) => Err(other),
    }
}

fn ask(app: &App, status: StatusCode, form: SignInForm, errors: Errors) -> Result<Response> {
    let form = SignInForm { password: String::new(), ..form };
    page::show(status, &SignInPage { frame: Frame::open(app), form_id: fresh_id(), form, errors })
}

async fn begin(app: &App, form: &SignInForm) -> Result<String> {
    let mut conn = app.db().await?;
    let known = db::known(&mut conn, &form.sign_in.trim().to_lowercase()).await?;
    let (person, hash) = known.map(|known| (known.person, known.password)).unzip();
    let fits = form.password.len() <= password::MOST * 4
        && password::fits(app.site.hashing, form.password.clone(), hash).await?;
    let (Some(person), true) = (person, fits) else {
        return Err(Refusal::at("sign_in", "This name and this password do not belong together.").into());
    };
    let (token, session) = super::new_token()?;
    db::begin_session(&mut conn, &session, person, app.book.clock.now()).await?;
    Ok(token)
}
