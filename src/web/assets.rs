//! Styles, scripts and fonts, inside the program. Styles are joined at start and named after what is in them, so that
//! a browser keeps them for ever and never keeps an old one.

use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

use super::{App, Path};
use crate::book::chain::hex;

#[derive(RustEmbed)]
#[folder = "static/"]
struct Files;

const FOR_EVER: HeaderValue = HeaderValue::from_static("public, max-age=31536000, immutable");
const FOR_A_DAY: HeaderValue = HeaderValue::from_static("public, max-age=86400");

/// What is served under `/static`, and the addresses of the hashed part of it.
pub struct Assets {
    css: String,
    /// `/static/book-1f2e3d4c.css`
    pub css_path: String,
    /// `/static/js-1f2e3d4c/main.js`: the modules import each other relative to it.
    pub js_path: String,
    js_folder: String,
}

impl Assets {
    /// Joins the styles in the order of their names.
    pub fn new() -> Self {
        let css: String = named("css/").map(|(_, text)| text).collect::<Vec<_>>().join("\n");
        let js: String = named("js/").map(|(name, text)| name + &text).collect();
        let js_folder = format!("js-{}", short_hash(&js));
        Self {
            css_path: format!("/static/book-{}.css", short_hash(&css)),
            css,
            js_path: format!("/static/{js_folder}/main.js"),
            js_folder,
        }
    }
}

impl Default for Assets {
    fn default() -> Self {
        Self::new()
    }
}

fn named(folder: &'static str) -> impl Iterator<Item = (String, String)> {
    let mut names: Vec<String> =
        Files::iter().filter(|name| name.starts_with(folder)).map(|name| name.to_string()).collect();
    names.sort();
    names.into_iter().filter_map(|name| {
        let file = Files::get(&name)?;
        Some((name, String::from_utf8_lossy(&file.data).into_owned()))
    })
}

fn short_hash(text: &str) -> String {
    hex(&Sha256::digest(text)[..8])
}

/// GET `/static/{*name}`
pub async fn serve(State(app): State<App>, Path(name): Path<String>) -> Response {
    if app.assets.css_path.ends_with(&format!("/{name}")) {
        return with_type("text/css; charset=utf-8", FOR_EVER, app.assets.css.clone().into_bytes());
    }
    let (path, keep) = match name.strip_prefix(&app.assets.js_folder) {
        Some(module) => (format!("js{module}"), FOR_EVER),
        None => (name, FOR_A_DAY),
    };
    match Files::get(&path) {
        Some(file) => with_type(file.metadata.mimetype(), keep, file.data.into_owned()),
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

fn with_type(mime: &str, keep: HeaderValue, body: Vec<u8>) -> Response {
    let mut headers = HeaderMap::new();
    let mime = HeaderValue::from_str(mime).unwrap_or(HeaderValue::from_static("application/octet-stream"));
    headers.insert(header::CONTENT_TYPE, mime);
    headers.insert(header::CACHE_CONTROL, keep);
    (headers, body).into_response()
}
