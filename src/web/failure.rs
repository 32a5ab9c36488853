//! How a request ends badly: one calm sentence and a number for the person, the rest for the log.

use askama::Template;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, IntoResponseParts, Response, ResponseParts};
use tower_http::request_id::RequestId;

use super::frame::{Area, Frame};
use super::me::Me;
use super::{App, page};
use crate::error::Error;

/// What went wrong, as far as the person is told. Rides on the response until a layer draws its page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Failed {
    NotFound,
    Forbidden,
    Method,
    /// A post from another site, or from a browser that does not say where it comes from.
    Elsewhere,
    SignedOut,
    /// A form that no page took back.
    Form,
    Broken,
}

impl Failed {
    fn status(self) -> StatusCode {
        match self {
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::Forbidden | Self::Elsewhere => StatusCode::FORBIDDEN,
            Self::Method => StatusCode::METHOD_NOT_ALLOWED,
            Self::SignedOut => StatusCode::UNAUTHORIZED,
            Self::Form => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Broken => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::NotFound => ("Nothing stands here", "No page of this book has this address."),
            Self::Forbidden => (
                "This is not yours to sign",
                "Your role does not hold the right for it. The owner can give it.",
            ),
            Self::Method => ("This page is not used that way", "Go to it by its link."),
            Self::Elsewhere => (
                "This did not come from the book's own page",
                "It was not taken, so that no other site can write here in your name. Open the page and sign there.",
            ),
            Self::SignedOut => ("You are signed out", "Nothing was written. Sign in and do it again."),
            Self::Form => ("This form could not be read", "Nothing was written. Go back and try once more."),
            Self::Broken => ("Something broke on our side", "Nothing was written by this step."),
        }
    }
}

impl IntoResponseParts for Failed {
    type Error = std::convert::Infallible;
    fn into_response_parts(self, mut parts: ResponseParts) -> Result<ResponseParts, Self::Error> {
        parts.extensions_mut().insert(self);
        Ok(parts)
    }
}

impl IntoResponse for Failed {
    fn into_response(self) -> Response {
        (self.status(), self, ()).into_response()
    }
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        match self {
            Self::NotFound => Failed::NotFound.into_response(),
            Self::Forbidden => Failed::Forbidden.into_response(),
            Self::Form(errors) => {
                tracing::warn!(errors = ?errors.list(), "a refusal that no page drew");
                Failed::Form.into_response()
            }
            Self::Broken(why) => {
                tracing::error!("broken: {why:#}");
                Failed::Broken.into_response()
            }
        }
    }
}

#[derive(Template)]
#[template(path = "failure.html")]
struct Page {
    frame: Frame,
    heading: &'static str,
    sentence: &'static str,
    /// The number under which the log has the rest; empty where there is nothing to look up.
    number: String,
    sign_in: bool,
}

fn draw(frame: Frame, failed: Failed, number: String) -> Response {
    let (heading, sentence) = failed.words();
    let number = if failed == Failed::Broken { number } else { String::new() };
    let page = Page { frame, heading, sentence, number, sign_in: failed == Failed::SignedOut };
    page::show(failed.status(), &page).unwrap_or_else(|_| failed.status().into_response())
}

/// Draws a failure inside the frame of who is signed in.
pub fn inside(app: &App, me: &Me, number: String, mut response: Response) -> Response {
    match response.extensions_mut().remove::<Failed>() {
        Some(failed) => draw(Frame::new(app, me, Area::Elsewhere), failed, number),
        None => response,
    }
}

/// The layer that draws what is left: failures before anyone was known.
pub async fn outside(State(app): State<App>, request: Request, next: Next) -> Response {
    let number = request_id(request.headers());
    let mut response = next.run(request).await;
    match response.extensions_mut().remove::<Failed>() {
        Some(failed) => draw(Frame::open(&app), failed, number),
        None => response,
    }
}

/// The number that the request got at the door.
pub fn request_id(headers: &HeaderMap) -> String {
    headers.get("x-request-id").and_then(|id| id.to_str().ok()).unwrap_or_default().to_owned()
}

/// Makes that number.
#[derive(Clone, Copy, Default)]
pub struct Numbers;

impl tower_http::request_id::MakeRequestId for Numbers {
    fn make_request_id<B>(&mut self, _request: &axum::http::Request<B>) -> Option<RequestId> {
        let id = super::fresh_id().simple().to_string();
        let short = id.get(id.len() - 10..)?;
        Some(RequestId::new(axum::http::HeaderValue::from_str(short).ok()?))
    }
}

/// What a panic becomes. The hook has logged it.
pub fn panicked(_: Box<dyn std::any::Any + Send + 'static>) -> Response {
    Failed::Broken.into_response()
}
