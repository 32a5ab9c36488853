//! `/loggers`: the imports, the devices that send by themselves, admitting one and ending one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::super::db;
use super::super::entry::{LoggerAdmitted, LoggerEnded};
use crate::book::chain::hex;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{LoggerId, Named, PlaceId};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::setup;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, guard, ledger, page};

/// How many imports the page lists.
const IMPORTS: i64 = 50;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct AdmitForm {
    name: String,
    place: String,
}

struct ImportRow {
    href: String,
    when: String,
    place: String,
    from: String,
    samples: i32,
    span: String,
    initials: String,
    person: String,
    struck: bool,
}

struct DeviceRow {
    id: LoggerId,
    form_id: Uuid,
    name: String,
    place: String,
    href: String,
    person: String,
    last: String,
    ended: bool,
}

#[derive(Template)]
#[template(path = "loggers/index.html")]
struct IndexPage {
    frame: Frame,
    form_id: Uuid,
    form: AdmitForm,
    errors: Errors,
    imports: Vec<ImportRow>,
    devices: Vec<DeviceRow>,
    places: Vec<Choice>,
    address: String,
    /// The token of a device that was admitted just now; empty otherwise.
    token: String,
    admitted: String,
    may_keep: bool,
    may_check: bool,
}

/// GET `/loggers`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, AdmitForm::default(), Errors::default(), None).await
}

/// POST `/loggers`: admits a device. Its token is on the page that answers, and nowhere after.
pub async fn admit(State(app): State<App>, me: Signer<Keep>, form: Form<AdmitForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(Some(token)) => {
            let shown = Some((form.name.clone(), token));
            ask(&app, &me, StatusCode::OK, AdmitForm::default(), Errors::default(), shown).await
        }
        // Sent twice: the token was shown by the first answer, and nobody has it to show it again.
        Ok(None) => page::goto("/loggers"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors, None).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<AdmitForm>) -> Result<Option<String>> {
    let mut read = Reader::new(&me.shop);
    let name = read.line("name", &form.name, "Give the logger a name.");
    let place: Option<PlaceId> = read.value("place", &form.place, "Choose where it measures.");
    let (name, place) = read.finish(|| Some((name?, place?)))?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(None) };
    let place = setup::place(&mut pen, place).await?;
    let place = place.ok_or_else(|| Refusal::at("place", "There is no such place."))?.named();
    let logger = LoggerId::made_by(pen.next().id);
    pen.append(LoggerAdmitted { logger, name, place }).await?;
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|why| anyhow::anyhow!("no randomness: {why}"))?;
    let token = hex(&bytes);
    db::keep_secret(&mut pen, logger, &Sha256::digest(&token).into()).await?;
    pen.commit().await?;
    Ok(Some(token))
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Nothing {}

/// POST `/loggers/devices/{id}/end`
pub async fn end(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<LoggerId>,
    form: Form<Nothing>,
) -> Result<Response> {
    match sign_end(&app, &me, id, &form).await {
        Ok(()) => page::goto("/loggers"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, AdmitForm::default(), errors, None).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_end(app: &App, me: &Me, id: LoggerId, form: &Form<Nothing>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let devices = db::devices(&mut pen).await?;
    let device = devices.into_iter().find(|device| device.id == id).ok_or(Error::NotFound)?;
    if device.ended {
        return Err(Refusal::of(format!("{} is ended already.", device.name)).into());
    }
    pen.append(LoggerEnded { logger: Named::new(id, device.name) }).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    form: AdmitForm,
    errors: Errors,
    shown: Option<(String, String)>,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let imports = db::imports(&mut conn, IMPORTS).await?.into_iter().map(|import| ImportRow {
        href: import.id.path(),
        when: ledger::moment(me, import.at),
        place: import.place_name,
        from: import.logger.unwrap_or(import.source),
        samples: import.samples,
        span: format!("{} to {}", ledger::moment(me, import.first_at), ledger::moment(me, import.last_at)),
        initials: import.initials,
        person: import.person,
        struck: import.struck,
    });
    let imports = imports.collect();
    let devices = db::devices(&mut conn).await?.into_iter().map(|device| DeviceRow {
        id: device.id,
        form_id: fresh_id(),
        name: device.name,
        place: device.place_name,
        href: device.place.path(),
        person: device.person,
        last: device.last_at.map_or_else(|| "nothing sent yet".into(), |at| ledger::moment(me, at)),
        ended: device.ended,
    });
    let devices = devices.collect();
    let places = setup::places(&mut conn).await?;
    let (admitted, token) = shown.unwrap_or_default();
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Hanging),
        form_id: fresh_id(),
        form,
        errors,
        imports,
        devices,
        places: places
            .into_iter()
            .filter(|place| !place.retired)
            .map(|place| Choice::new(place.id, place.name))
            .collect(),
        address: format!("{}{}", app.site.address, guard::BY_TOKEN),
        token,
        admitted,
        may_keep: me.may(Right::Keep),
        may_check: me.may(Right::Check),
    };
    page::show(status, &page)
}
