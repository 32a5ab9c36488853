//! The three ways a request ends well: a page, another page, a file.

use askama::Template;
use axum::body::Body;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use tokio::sync::mpsc::Receiver;

use crate::error::Result;

/// Draws a page.
pub fn show<T: Template>(status: StatusCode, page: &T) -> Result<Response> {
    let html = page.render().map_err(anyhow::Error::from)?;
    Ok((status, [(header::CACHE_CONTROL, HeaderValue::from_static("no-store"))], Html(html)).into_response())
}

/// After a write: see the page that shows it. A reload then writes nothing.
pub fn goto(path: &str) -> Result<Response> {
    Ok(Redirect::to(path).into_response())
}

/// Hands out a file under a name.
pub fn file(name: &str, mime: &'static str, body: impl Into<Body>) -> Result<Response> {
    let disposition =
        HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")).map_err(anyhow::Error::from)?;
    let mime = HeaderValue::from_static(mime);
    Ok(([(header::CONTENT_TYPE, mime), (header::CONTENT_DISPOSITION, disposition)], body.into())
        .into_response())
}

/// Hands out a file that is written while it is sent. Where a part of it fails, the sending breaks off, and the browser says so.
pub fn stream(name: &str, mime: &'static str, mut from: Receiver<Result<String>>) -> Result<Response> {
    // What is packed on its way out is asked once more after its end, which a channel answers and an unfolded stream does not.
    let parts = futures_util::stream::poll_fn(move |task| from.poll_recv(task));
    file(name, mime, Body::from_stream(parts))
}
