//! How a request's text arrives: forms with their number, addresses, queries. A form never fails to arrive.

use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use crate::book::chain::Hash;
use crate::error::{Error, Refusal, Result};

/// The most that a form may weigh, in bytes. The longest is a recipe of a hundred lines.
const MOST: usize = 512 * 1024;

/// What makes a form one entry however often it is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Once {
    pub id: Option<Uuid>,
    pub digest: Hash,
}

impl Once {
    /// The number that the form was drawn with.
    ///
    /// # Errors
    /// A refusal when the form carries none: it was not drawn by us, or it was cut short.
    pub fn id(&self) -> Result<Uuid, Refusal> {
        self.id.ok_or_else(|| {
            Refusal::of("This form came without its number. Open the page again and sign here.")
        })
    }
}

/// A form that was sent: its fields as text, and its number.
#[derive(Debug, Clone)]
pub struct Form<T> {
    pub fields: T,
    pub once: Once,
}

impl<T> std::ops::Deref for Form<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.fields
    }
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct OnlyId {
    id: String,
}

impl<S: Send + Sync, T: DeserializeOwned + Default> FromRequest<S> for Form<T> {
    type Rejection = Error;

    async fn from_request(request: Request, _state: &S) -> Result<Self> {
        let bytes = axum::body::to_bytes(request.into_body(), MOST)
            .await
            .map_err(|_| Refusal::of("This form is too long to be read."))?;
        let only: OnlyId = serde_html_form::from_bytes(&bytes).unwrap_or_default();
        let once = Once { id: Uuid::parse_str(&only.id).ok(), digest: Sha256::digest(&bytes).into() };
        // Fields are text with a default, so only a field sent twice where one belongs can fail: it is read as empty,
        // and the reader then says which field is missing.
        let fields = serde_html_form::from_bytes(&bytes).unwrap_or_default();
        Ok(Self { fields, once })
    }
}

/// A number for a form that is being drawn.
#[allow(clippy::disallowed_methods, reason = "the kit's one place for a new id")]
pub fn fresh_id() -> Uuid {
    Uuid::now_v7()
}

/// The ids in an address. What is not one names nothing: a 404.
pub struct Path<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self> {
        #[allow(clippy::disallowed_types, reason = "this is what the kit wraps")]
        let path = axum::extract::Path::<T>::from_request_parts(parts, state).await;
        path.map(|inner| Self(inner.0)).map_err(|_| Error::NotFound)
    }
}

/// What stands behind the question mark; what cannot be read is as if it were not there.
pub struct Query<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Default> FromRequestParts<S> for Query<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self> {
        Ok(Self(serde_html_form::from_str(parts.uri.query().unwrap_or_default()).unwrap_or_default()))
    }
}
