//! `/me`: who is signed in, and signing out.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db;
use crate::error::Result;
use crate::web::{App, Area, Frame, Me, fresh_id, page};

#[derive(Template)]
#[template(path = "people/me.html")]
struct MePage {
    frame: Frame,
    form_id: Uuid,
    name: String,
    initials: String,
    roles: String,
}

/// GET `/me`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let roles: Vec<&str> = me.person.roles.iter().map(|role| role.word()).collect();
    let page = MePage {
        frame: Frame::new(&app, &me, Area::Elsewhere),
        form_id: fresh_id(),
        name: me.person.name.clone(),
        initials: me.person.initials.clone(),
        roles: roles.join(", "),
    };
    page::show(StatusCode::OK, &page)
}

/// POST `/me/sign-out`
pub async fn sign_out(State(app): State<App>, me: Me) -> Result<Response> {
    db::end_session(&mut *app.db().await?, &me.session).await?;
    super::with_cookie(&app, "", page::goto("/sign-in")?)
}
