//! `/sign-in`: name and password.

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::{db, password};
use super::door::{self, Proof, Tokens};
use crate::error::{Error, Errors, Refusal, Result};
use crate::web::{App, Caller, Form, Frame, Query, fresh_id, page};

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
    pub next: String,
}

#[derive(Template)]
#[template(path = "people/sign_in.html")]
struct SignInPage {
    frame: Frame,
    form_id: Uuid,
    form: SignInForm,
    errors: Errors,
    /// Whether somebody can come in by PIN here instead.
    can_switch: bool,
}

/// GET `/sign-in`
pub async fn page(State(app): State<App>, headers: HeaderMap, Query(next): Query<Next>) -> Result<Response> {
    if !crate::web::db::founded(&mut *app.db().await?).await? {
        return page::goto("/start");
    }
    let form = SignInForm { next: next.next, ..SignInForm::default() };
    ask(&app, StatusCode::OK, &headers, form, Errors::default()).await
}

/// POST `/sign-in`
pub async fn sign_in(
    State(app): State<App>,
    headers: HeaderMap,
    caller: Caller,
    form: Form<SignInForm>,
) -> Result<Response> {
    match begin(&app, &headers, caller, &form).await {
        Ok(tokens) => tokens.lay(&app, page::goto(tokens.leads(&form.next))?),
        Err(Error::Form(errors)) => {
            ask(&app, StatusCode::UNPROCESSABLE_ENTITY, &headers, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn ask(
    app: &App,
    status: StatusCode,
    headers: &HeaderMap,
    form: SignInForm,
    errors: Errors,
) -> Result<Response> {
    let can_switch = match door::here(app, headers) {
        Some(here) => db::on_device(&mut *app.db().await?, here).await?.iter().any(|one| one.has_pin),
        None => false,
    };
    let form = SignInForm { password: String::new(), ..form };
    let page = SignInPage { frame: Frame::open(app), form_id: fresh_id(), form, errors, can_switch };
    page::show(status, &page)
}

async fn begin(app: &App, headers: &HeaderMap, caller: Caller, form: &SignInForm) -> Result<Tokens> {
    let name = form.sign_in.trim().to_lowercase();
    let mut conn = app.db().await?;
    let claim = door::may_try(app, &mut conn, &name, caller, "sign_in").await?;
    let (person, hash) =
        db::known(&mut conn, &name).await?.map(|known| (known.person, known.password)).unzip();
    let fits = password::fits(app.site.hashing, form.password.clone(), hash).await?;
    let (Some(person), true) = (person, fits) else {
        return Err(Refusal::at("sign_in", "This name and this password do not belong together.").into());
    };
    db::came_right(&mut conn, &claim).await?;
    door::come_in(app, &mut conn, headers, person, Proof::Password).await
}
