//! `/loggers/import`: choosing a logger's file or pasting it, and the place that it was measured in.

use askama::Template;
use axum::extract::{FromRequest as _, Multipart, Request, State};
use axum::http::{StatusCode, header};
use axum::response::Response;
use serde::Deserialize;

use super::super::db::{self, Draft};
use super::super::sheet::letters;
use super::reading;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::PlaceId;
use crate::measure::one_line;
use crate::rights::needs::Check;
use crate::setup;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Query, Signer, fresh_id, page};

/// The longest name of a file that is kept, in characters.
const NAME: usize = 80;

/// The address of this page for a place.
pub fn path(place: PlaceId) -> String {
    format!("/loggers/import?place={place}")
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ImportForm {
    place: String,
    text: String,
}

#[derive(Template)]
#[template(path = "loggers/import.html")]
struct ImportPage {
    frame: Frame,
    form: ImportForm,
    errors: Errors,
    places: Vec<Choice>,
    zone: String,
}

/// GET `/loggers/import`
pub async fn page(
    State(app): State<App>,
    me: Signer<Check>,
    Query(form): Query<ImportForm>,
) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/loggers/import`: the file is laid aside, nothing is signed yet.
pub async fn lay(State(app): State<App>, me: Signer<Check>, request: Request) -> Result<Response> {
    let mut form = ImportForm::default();
    match sent(&app, &me, &mut form, request).await {
        Ok(draft) => page::goto(&draft),
        Err(Error::Form(errors)) => ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form, errors).await,
        Err(other) => Err(other),
    }
}

/// The name and the letters of the file that came; empty where none did.
async fn file(form: &mut ImportForm, request: Request) -> Result<(String, String), Refusal> {
    let too_long = |_| Refusal::at("file", "It could not be taken: a file may have 16 MB.");
    let Ok(mut parts) = Multipart::from_request(request, &()).await else {
        return Err(Refusal::at("file", "It did not come whole. Choose the file again."));
    };
    let (mut name, mut body) = (String::new(), String::new());
    while let Some(part) = parts.next_field().await.map_err(too_long)? {
        let field = part.name().unwrap_or_default().to_owned();
        let file = part.file_name().map(ToOwned::to_owned);
        let bytes = part.bytes().await.map_err(too_long)?;
        match field.as_str() {
            "place" => form.place = letters(&bytes),
            "text" => form.text = letters(&bytes),
            "file" if !bytes.is_empty() => (name, body) = (file.unwrap_or_default(), letters(&bytes)),
            _ => {}
        }
    }
    Ok((name, body))
}

fn is_in_parts(request: &Request) -> bool {
    let kind = request.headers().get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok());
    kind.is_some_and(|kind| kind.starts_with("multipart/form-data"))
}

async fn sent(app: &App, me: &Me, form: &mut ImportForm, request: Request) -> Result<String> {
    let (mut name, mut body) = (String::new(), String::new());
    if is_in_parts(&request) {
        (name, body) = file(form, request).await?;
    } else {
        // A form without a file in it, as some programs send what was pasted.
        *form = Form::<ImportForm>::from_request(request, &()).await?.fields;
    }
    let place: PlaceId = form.place.parse().map_err(|_| Refusal::at("place", "Choose the place."))?;
    if body.is_empty() {
        (name, body) = ("pasted".into(), form.text.clone());
    }
    if body.trim().is_empty() {
        return Err(Refusal::at("file", "Choose the logger's file, or paste what it wrote.").into());
    }
    // PostgreSQL keeps no zero byte in a text.
    let body = body.replace('\0', "");
    reading::header(&body)?;
    let mut conn = app.db().await?;
    setup::place(&mut conn, place).await?.ok_or_else(|| Refusal::at("place", "There is no such place."))?;
    let name: String = name.chars().take(NAME).collect();
    let name = one_line(&name, NAME).unwrap_or_else(|_| "file".into());
    let id = fresh_id();
    db::lay(&mut conn, id, me.person.id, &Draft { place, name, body }, me.now).await?;
    Ok(format!("/loggers/drafts/{id}"))
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: ImportForm, errors: Errors) -> Result<Response> {
    let places = setup::places(&mut *app.db().await?).await?;
    let page = ImportPage {
        frame: Frame::new(app, me, Area::Hanging),
        form,
        errors,
        places: places
            .into_iter()
            .filter(|place| !place.retired)
            .map(|place| Choice::new(place.id, place.name))
            .collect(),
        zone: me.shop.zone.name().to_owned(),
    };
    page::show(status, &page)
}
