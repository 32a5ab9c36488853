//! Who signs. A handler's signature is its authorisation: [`Me`] for anyone signed in, `Signer<needs::Cut>` for a right.

use std::marker::PhantomData;
use std::ops::Deref;
use std::sync::Arc;

use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use sha2::{Digest, Sha256};
use time::OffsetDateTime;

use super::shop::Shop;
use super::{App, Once, db, failure};
use crate::book::Stamp;
use crate::book::chain::Hash;
use crate::error::{Error, Result};
use crate::ids::PersonId;
use crate::rights::{Needs, Right, Role};

/// The name of the cookie that carries the session's token.
pub const COOKIE: &str = "flitchbook";

/// The person who is signed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    pub id: PersonId,
    pub name: String,
    pub initials: String,
    pub roles: Vec<Role>,
}

/// Who is signed in, in which shop.
#[derive(Debug, Clone)]
pub struct Me {
    pub person: Person,
    pub shop: Arc<Shop>,
    pub session: Hash,
    pub theme: &'static str,
    /// When this request came.
    pub now: OffsetDateTime,
}

impl Me {
    pub fn may(&self, right: Right) -> bool {
        self.person.roles.iter().any(|role| role.grants(right))
    }

    /// The stamp of an entry that happens now. There is no write without one.
    ///
    /// # Errors
    /// A refusal when the form came without its number.
    pub fn stamp(&self, once: &Once) -> Result<Stamp> {
        Ok(Stamp { id: once.id()?, digest: once.digest, person: self.person.id, happened_at: None })
    }

    /// The stamp of an entry that happened at another time, if one was given.
    pub fn stamp_at(&self, once: &Once, when: Option<OffsetDateTime>) -> Result<Stamp> {
        Ok(Stamp { happened_at: when, ..self.stamp(once)? })
    }

    /// The shop's day now.
    pub fn today(&self) -> time::Date {
        self.shop.date(self.now)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Me {
    type Rejection = Error;
    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self> {
        parts.extensions.get::<Self>().cloned().ok_or(Error::Forbidden)
    }
}

/// Somebody signed in who has the right `R`.
pub struct Signer<R>(Me, PhantomData<R>);

impl<R> Deref for Signer<R> {
    type Target = Me;
    fn deref(&self) -> &Me {
        &self.0
    }
}

impl<S: Send + Sync, R: Needs> FromRequestParts<S> for Signer<R> {
    type Rejection = Error;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self> {
        let me = Me::from_request_parts(parts, state).await?;
        if me.may(R::RIGHT) { Ok(Self(me, PhantomData)) } else { Err(Error::Forbidden) }
    }
}

/// The SHA-256 of the session's token in the request's cookie: the table knows tokens by it alone.
pub fn session_of(headers: &HeaderMap) -> Option<Hash> {
    token_hash(headers, COOKIE)
}

/// The SHA-256 of the token in the cookie of this name.
pub fn token_hash(headers: &HeaderMap, cookie: &str) -> Option<Hash> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let token = cookies.flat_map(|line| line.split(';')).find_map(|pair| {
        let (name, value) = pair.trim().split_once('=')?;
        (name == cookie && !value.is_empty()).then_some(value)
    })?;
    Some(Sha256::digest(token).into())
}

/// The layer of the signed-in half: finds who it is, or sends to the sign-in; draws failures inside the shop's frame.
pub async fn signed_in(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let session = session_of(request.headers());
    let me = match find(&app, session).await {
        Ok(me) => me,
        Err(why) => return why.into_response(),
    };
    let Some(me) = me else {
        let (read, here) = (request.method() == Method::GET, request.uri().clone());
        return to_sign_in(&app, read, &here).await;
    };
    request.extensions_mut().insert(me.clone());
    let id = failure::request_id(request.headers());
    let response = next.run(request).await;
    failure::inside(&app, &me, id, response)
}

async fn find(app: &App, session: Option<Hash>) -> Result<Option<Me>> {
    let Some(session) = session else { return Ok(None) };
    let now = app.book.clock.now();
    let mut db = app.db().await?;
    db::signed_in(&mut db, &session, now, app.site.session_days).await
}

async fn to_sign_in(app: &App, read: bool, here: &Uri) -> Response {
    let founded = match app.db().await {
        Ok(mut db) => db::founded(&mut db).await,
        Err(why) => Err(why),
    };
    match founded {
        Err(why) => why.into_response(),
        Ok(false) => Redirect::to("/start").into_response(),
        Ok(true) if read => {
            let next = here.path_and_query().map_or("/", |path| path.as_str());
            Redirect::to(&format!(
                "/sign-in?{}",
                serde_html_form::to_string([("next", next)]).unwrap_or_default()
            ))
            .into_response()
        }
        Ok(true) => (StatusCode::UNAUTHORIZED, failure::Failed::SignedOut).into_response(),
    }
}
