//! Tells the story through the program's own pages: each line is a form that one of the people sends, at its time. So
//! the demo's book passes through the rules that a person's does, and a form that changes breaks the demo's test.

use std::collections::BTreeMap;

use anyhow::{Context, Result, bail};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use axum::response::Response;
use rust_decimal::Decimal;
use time::{Date, Duration, OffsetDateTime, Time};
use tower::ServiceExt;

use super::db::{self, Lying};
use crate::app;
use crate::measure::ShopZone;
use crate::web::{App, fresh_id};

/// The longest answer that is read, in bytes.
const MOST: usize = 8 * 1024 * 1024;
/// How long a line takes to write, so that no two carry one time.
const A_MOMENT: Duration = Duration::seconds(20);

/// Who tells, and when it is in the story.
pub struct Teller {
    pub app: App,
    router: Router,
    zone: ShopZone,
    today: Date,
    /// The cookie of everyone who has signed in.
    cookies: BTreeMap<&'static str, String>,
    who: &'static str,
    /// The ids of what has a name: `item sea salt`, `place cooler 1`.
    names: BTreeMap<String, String>,
}

impl Teller {
    /// Begins a story that ends on the shop's day of `now`. The app's clock is the story's.
    pub fn begin(app: App, zone: ShopZone, now: OffsetDateTime) -> Self {
        let today = zone.date(now);
        Self {
            router: app::router(app.clone()),
            app,
            zone,
            today,
            cookies: BTreeMap::new(),
            who: "",
            names: BTreeMap::new(),
        }
    }

    /// It is this time of the day, so many days ago.
    pub fn at(&mut self, days_ago: i64, hour: u8, minute: u8) -> Result<()> {
        let day = self.day(days_ago);
        let clock = Time::from_hms(hour, minute, 0).context("a time of the day")?;
        self.app.book.clock.tell(self.zone.instant(day.with_time(clock))?);
        Ok(())
    }

    /// The date so many days ago.
    pub fn day(&self, days_ago: i64) -> Date {
        self.today - Duration::days(days_ago)
    }

    /// This person has the tablet from here on.
    pub fn is(&mut self, who: &'static str) {
        self.who = who;
    }

    /// Reads anew what has a name in the shop.
    pub async fn looks_around(&mut self) -> Result<()> {
        self.names = db::named(&mut *self.app.db().await?).await?.into_iter().collect();
        Ok(())
    }

    /// The id of what has this name: `id("item sea salt")`.
    pub fn id(&self, name: &str) -> Result<&str> {
        self.names.get(name).map(String::as_str).with_context(|| format!("nothing here is called \"{name}\""))
    }

    /// The oldest lot of this thing that holds at least so many grams.
    pub async fn lot(&self, item: &str, grams: Decimal) -> Result<Lying> {
        let lying = db::lying(&mut *self.app.db().await?, item).await?;
        let found = lying.iter().find(|lot| lot.grams.decimal() >= grams).cloned();
        found.with_context(|| format!("no lot of {item} holds {grams} g: {lying:?}"))
    }

    /// All lots of this thing that hold something.
    pub async fn lots(&self, item: &str) -> Result<Vec<Lying>> {
        Ok(db::lying(&mut *self.app.db().await?, item).await?)
    }

    /// The lots with these codes, as they stand now.
    pub async fn lots_by_code(&self, codes: &[String]) -> Result<Vec<Lying>> {
        Ok(db::by_code(&mut *self.app.db().await?, codes).await?)
    }

    /// The pieces of a batch, with their green weights.
    pub async fn pieces(&self, batch: &str) -> Result<Vec<Lying>> {
        let id = batch.rsplit('/').next().unwrap_or_default().parse()?;
        Ok(db::pieces(&mut *self.app.db().await?, id).await?)
    }

    /// The deviation that was opened last.
    pub async fn deviation(&self) -> Result<String> {
        let id = db::last_deviation(&mut *self.app.db().await?).await?;
        Ok(id.context("no deviation was opened")?.path())
    }

    /// The number of the line that was signed last.
    pub async fn last_line(&self) -> Result<i64> {
        Ok(db::last_line(&mut *self.app.db().await?).await?)
    }

    /// What the hidden fields of this name say on a page.
    pub async fn hidden(&self, path: &str, name: &str) -> Result<Vec<String>> {
        let cookie = self.cookies.get(self.who).cloned().unwrap_or_default();
        let request = Request::get(path).header(header::COOKIE, cookie).body(Body::empty())?;
        let response = self.router.clone().oneshot(request).await?;
        let page = to_bytes(response.into_body(), MOST).await?;
        let mark = format!("name=\"{name}\" value=\"");
        let page = String::from_utf8_lossy(&page).into_owned();
        Ok(page
            .split(&mark)
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .map(ToOwned::to_owned)
            .collect())
    }

    /// Signs a person in with this password.
    pub async fn signs_in(&mut self, who: &'static str, password: &str) -> Result<()> {
        self.who = who;
        let fields = [("sign_in", who), ("password", password)];
        let (_, cookie) = self.send("/sign-in", &fields).await?;
        self.cookies.insert(who, cookie.context("the sign-in gave no cookie")?);
        Ok(())
    }

    /// Sends a form, and says where it led.
    pub async fn signs(&self, path: &str, fields: &[(&str, &str)]) -> Result<String> {
        Ok(self.send(path, fields).await?.0)
    }

    /// Admits a logger for a place; its token, which the page that answers shows once.
    pub async fn admits(&self, name: &str, place: &str) -> Result<String> {
        let response = self.post("/loggers", &[("name", name), ("place", place)]).await?;
        let page = to_bytes(response.into_body(), MOST).await?;
        let page = String::from_utf8_lossy(&page).into_owned();
        let token = page.split("<code class=\"hash\">").nth(1).and_then(|rest| rest.split('<').next());
        Ok(token.context("no token was shown")?.to_owned())
    }

    /// A logger sends what it measured.
    pub async fn hears(&self, token: &str, csv: String) -> Result<()> {
        let request = Request::post("/loggers/samples")
            .header(header::AUTHORIZATION, format!("Bearer {token}"))
            .header(header::CONTENT_TYPE, "text/csv")
            .body(Body::from(csv))?;
        let response = self.router.clone().oneshot(request).await?;
        let status = response.status();
        let answer = to_bytes(response.into_body(), MOST).await?;
        if status != StatusCode::OK {
            bail!("{status} to a logger: {}", String::from_utf8_lossy(&answer));
        }
        Ok(())
    }

    /// Attaches a paper.
    pub async fn attaches(
        &self,
        about: &str,
        sort: &str,
        note: &str,
        name: &str,
        bytes: &[u8],
    ) -> Result<()> {
        let now = self.app.book.clock.now();
        self.app.book.clock.tell(now + A_MOMENT);
        let (id, edge) = (fresh_id().to_string(), "edge-of-a-part");
        let mut body = Vec::new();
        for (field, text) in [("id", id.as_str()), ("about", about), ("sort", sort), ("note", note)] {
            let part =
                format!("--{edge}\r\ncontent-disposition: form-data; name=\"{field}\"\r\n\r\n{text}\r\n");
            body.extend_from_slice(part.as_bytes());
        }
        let head = format!("content-disposition: form-data; name=\"file\"; filename=\"{name}\"");
        body.extend_from_slice(format!("--{edge}\r\n{head}\r\n\r\n").as_bytes());
        body.extend_from_slice(bytes);
        body.extend_from_slice(format!("\r\n--{edge}--\r\n").as_bytes());
        let mut request = Request::post("/attachments")
            .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={edge}"))
            .header("sec-fetch-site", "same-origin");
        if let Some(cookie) = self.cookies.get(self.who) {
            request = request.header(header::COOKIE, cookie);
        }
        let response = self.router.clone().oneshot(request.body(Body::from(body))?).await?;
        let status = response.status();
        if status != StatusCode::SEE_OTHER {
            let page = to_bytes(response.into_body(), MOST).await?;
            bail!("{status} to the paper {name}: {}", said(&String::from_utf8_lossy(&page)));
        }
        Ok(())
    }

    async fn send(&self, path: &str, fields: &[(&str, &str)]) -> Result<(String, Option<String>)> {
        let (parts, body) = self.post(path, fields).await?.into_parts();
        if parts.status != StatusCode::SEE_OTHER {
            let page = to_bytes(body, MOST).await?;
            bail!("{} at {path} with {fields:?}: {}", parts.status, said(&String::from_utf8_lossy(&page)));
        }
        let text = |name| parts.headers.get(name).and_then(|value| value.to_str().ok());
        let cookie = text(header::SET_COOKIE).and_then(|line| line.split(';').next()).map(ToOwned::to_owned);
        Ok((text(header::LOCATION).unwrap_or_default().to_owned(), cookie))
    }

    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Result<Response> {
        let now = self.app.book.clock.now();
        self.app.book.clock.tell(now + A_MOMENT);
        let id = fresh_id().to_string();
        let mut all = vec![("id", id.as_str())];
        all.extend_from_slice(fields);
        let mut request = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin");
        if let Some(cookie) = self.cookies.get(self.who) {
            request = request.header(header::COOKIE, cookie);
        }
        let request = request.body(Body::from(serde_html_form::to_string(&all)?))?;
        Ok(self.router.clone().oneshot(request).await?)
    }
}

/// What a page says is wrong: the summary on top of its form, without tags.
fn said(page: &str) -> String {
    let summary = page.split_once("class=\"errors\"").map_or(page, |(_, rest)| rest);
    let summary = summary.split_once("</div>").map_or(summary, |(summary, _)| summary);
    let mut text = String::new();
    let mut inside = false;
    for letter in summary.chars() {
        match letter {
            '<' => inside = true,
            '>' => inside = false,
            _ if !inside => text.push(letter),
            _ => {}
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
