//! Coming in and going out: sessions, and what a device remembers. Tokens are 32 random bytes; the tables know only
//! their SHA-256.

use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::Response;
use sha2::{Digest, Sha256};
use sqlx::PgConnection;
use time::{Duration, OffsetDateTime};

use super::super::db::{self, Claim, Here};
use super::super::entry::InspectorVisited;
use super::super::password;
use crate::book::Stamp;
use crate::book::chain::{Hash, hex};
use crate::error::{Refusal, Result};
use crate::ids::{Named, PersonId};
use crate::measure::{clock, day_long};
use crate::people::throttle;
use crate::web::me::{COOKIE, session_of, token_hash};
use crate::web::{App, Caller, fresh_id};

/// The name of the cookie by which a device is known again.
const DEVICE: &str = "flitchbook_device";

/// How long a browser keeps that cookie, in days. Browsers keep none for longer.
const DEVICE_DAYS: u32 = 400;

const DAY: u32 = 24 * 60 * 60;

/// A new token, and its hash for the table.
fn new_token() -> Result<(String, Hash)> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|why| anyhow::anyhow!("no randomness: {why}"))?;
    let token = hex(&bytes);
    let hash = Sha256::digest(&token).into();
    Ok((token, hash))
}

/// Lays a token into a cookie, or takes the cookie out when it is empty.
fn with_cookie(app: &App, name: &str, token: &str, age: u32, mut response: Response) -> Result<Response> {
    let secure = if app.site.secure { "; Secure" } else { "" };
    let age = if token.is_empty() { 0 } else { age };
    let cookie = format!("{name}={token}; Path=/; HttpOnly; SameSite=Lax; Max-Age={age}{secure}");
    let value = HeaderValue::from_str(&cookie).map_err(anyhow::Error::from)?;
    response.headers_mut().append(header::SET_COOKIE, value);
    Ok(response)
}

/// The device that asks, if its cookie says one, and since when a full sign-in counts there.
pub fn here(app: &App, headers: &HeaderMap) -> Option<Here> {
    let device = token_hash(headers, DEVICE)?;
    Some(Here { device, since: counts_since(app) })
}

/// Sign-ins from before this have lapsed.
fn counts_since(app: &App) -> OffsetDateTime {
    app.book.clock.now() - Duration::days(i64::from(app.site.session_days))
}

/// Who comes in, and how they proved it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// Name and password: the device knows the person from here on.
    Password,
    /// A PIN, on a device that knows the person.
    Pin,
}

/// The tokens that a browser gets when somebody comes in.
pub struct Tokens {
    session: String,
    device: Option<String>,
    /// Whether they read and nothing else.
    reads_only: bool,
}

/// Where an inspector begins.
const INSPECTION: &str = "/inspection";

impl Tokens {
    /// Where to go from the door: an inspector who asked for no page begins with theirs.
    pub fn leads<'a>(&self, next: &'a str) -> &'a str {
        match super::own_address(next) {
            "/" if self.reads_only => INSPECTION,
            own => own,
        }
    }

    /// Lays them into the browser's cookies.
    pub fn lay(&self, app: &App, response: Response) -> Result<Response> {
        let days = u32::from(app.site.session_days);
        let response = with_cookie(app, COOKIE, &self.session, days * DAY, response)?;
        match &self.device {
            Some(token) => with_cookie(app, DEVICE, token, DEVICE_DAYS * DAY, response),
            None => Ok(response),
        }
    }
}

/// Takes the session out of the browser's cookie.
pub fn take_out(app: &App, response: Response) -> Result<Response> {
    with_cookie(app, COOKIE, "", 0, response)
}

/// Begins a session under a new token and ends the one that the browser had.
pub async fn come_in(
    app: &App,
    db: &mut PgConnection,
    headers: &HeaderMap,
    person: PersonId,
    proof: Proof,
) -> Result<Tokens> {
    let now = app.book.clock.now();
    let reader = db::reader(db, person).await?;
    let reads_only = reader.is_some();
    if let Some(reader) = reader {
        visit(app, person, reader, proof, now).await?;
    }
    if let Some(before) = session_of(headers) {
        db::end_session(db, &before).await?;
    }
    let (session, hash) = new_token()?;
    db::begin_session(db, &hash, person, now).await?;
    let device = match proof {
        Proof::Pin => None,
        Proof::Password => {
            db::clear_old(db, counts_since(app)).await?;
            remember(db, headers, person, now).await?
        }
    };
    Ok(Tokens { session, device, reads_only })
}

/// Notes in the book that an inspector came in, while their days last.
async fn visit(
    app: &App,
    person: PersonId,
    reader: db::Reader,
    proof: Proof,
    now: OffsetDateTime,
) -> Result<()> {
    if let Some(until) = reader.until.filter(|until| *until <= now) {
        let field = if proof == Proof::Pin { "pin" } else { "sign_in" };
        let local = reader.zone.local(until);
        let say = format!(
            "This inspector's sign-in ended on {} at {}. The owner of the shop can open it anew.",
            day_long(local.date()),
            clock(local)
        );
        return Err(Refusal::at(field, say).into());
    }
    let id = fresh_id();
    let stamp = Stamp { id, digest: Sha256::digest(id).into(), person, happened_at: None };
    let Some(mut pen) = app.book.pen(stamp).await? else { return Ok(()) };
    pen.append(InspectorVisited { person: Named::new(person, reader.name) }).await?;
    pen.commit().await
}

/// Notes on the device that the person has signed in there; makes it a token when it has none that we gave out.
async fn remember(
    db: &mut PgConnection,
    headers: &HeaderMap,
    person: PersonId,
    now: OffsetDateTime,
) -> Result<Option<String>> {
    if let Some(known) = token_hash(headers, DEVICE)
        && db::device_seen(db, &known).await?
    {
        db::remember_on_device(db, &known, person, now).await?;
        return Ok(None);
    }
    let (token, hash) = new_token()?;
    db::remember_on_device(db, &hash, person, now).await?;
    Ok(Some(token))
}

/// Counts a try under its name and its address, and says at `field` when it comes too soon.
pub async fn may_try(
    app: &App,
    db: &mut PgConnection,
    name: &str,
    caller: Caller,
    field: &'static str,
) -> Result<Claim> {
    let claim = Claim { name: name.to_owned(), address: caller.counted() };
    match db::claim(db, &claim, app.book.clock.now()).await? {
        None => Ok(claim),
        Some(wait) => {
            let say = format!("Too many wrong tries. Wait {} and try again.", throttle::words(wait));
            Err(Refusal::at(field, say).into())
        }
    }
}

/// Asks somebody who is signed in for their password once more, at `field`.
pub async fn proves_again(
    app: &App,
    db: &mut PgConnection,
    person: PersonId,
    typed: &str,
    caller: Caller,
    field: &'static str,
) -> Result<()> {
    let Some((sign_in, hash)) = db::password_of(db, person).await? else {
        return Err(Refusal::at(field, "The owner must give you a password first.").into());
    };
    let claim = may_try(app, db, &sign_in, caller, field).await?;
    if !password::fits(app.site.hashing, typed.to_owned(), Some(hash)).await? {
        return Err(Refusal::at(field, "This is not your password.").into());
    }
    db::came_right(db, &claim).await
}
