//! `/labels/sizes/{id}.css`: the small style that makes a page print at its true size. Our pages take no style from
//! anywhere but the shop's own server, so it cannot stand in the page.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::super::{db, paper};
use crate::error::{Error, Result};
use crate::ids::LabelSizeId;
use crate::web::{App, Path};

/// GET `/labels/sizes/{id}.css`
pub async fn sheet(State(app): State<App>, Path(name): Path<String>) -> Result<Response> {
    let id: LabelSizeId = name.strip_suffix(".css").and_then(|id| id.parse().ok()).ok_or(Error::NotFound)?;
    let size = db::size(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let headers = [(header::CONTENT_TYPE, "text/css; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    Ok((headers, paper::style(&size)).into_response())
}
