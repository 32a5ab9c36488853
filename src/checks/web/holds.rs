//! `/checks/holds`: what is on hold, and holding a lot by hand.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::{Sheet, tabs};
use crate::book;
use crate::deviations::entry::{self, LotHeld};
use crate::deviations::{self, HeldLot};
use crate::error::{Error, Errors, Refusal, Result};
use crate::measure::LotCode;
use crate::rights::Right;
use crate::rights::needs::Check;
use crate::web::parts::Tab;
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct HoldForm {
    code: String,
    reason: String,
}

impl HoldForm {
    fn read(&self, shop: &Shop) -> Result<(LotCode, String), Errors> {
        let mut read = Reader::new(shop);
        let code = read.take("code", LotCode::parse(&self.code));
        let reason = read.line("reason", &self.reason, "Say why it may not be used.");
        read.finish(|| Some((code?, reason?)))
    }
}

struct Row {
    href: String,
    code: String,
    name: String,
    weight: String,
    place: String,
    reason: String,
    since: String,
    /// The page that decides on it: its own, or its deviation's.
    decide: String,
    of_deviation: bool,
    to_discard: bool,
}

#[derive(Template)]
#[template(path = "checks/holds.html")]
struct HoldsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    form_id: Uuid,
    form: HoldForm,
    errors: Errors,
    rows: Vec<Row>,
    may_check: bool,
}

/// GET `/checks/holds`; a link may bring the code along.
pub async fn page(State(app): State<App>, me: Me, Query(form): Query<HoldForm>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/checks/holds`
pub async fn hold(State(app): State<App>, me: Signer<Check>, form: Form<HoldForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/checks/holds"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<HoldForm>) -> Result<()> {
    let (code, reason) = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let lot = book::db::lot_by_code(&mut pen, &code).await?;
    let lot = lot.ok_or_else(|| Refusal::at("code", format!("No lot has the code {code}.")))?;
    pen.append(entry::hold(LotHeld { lot: lot.named(), reason }, &lot)?).await?;
    pen.commit().await
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: HoldForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let rows = deviations::holds(&mut conn).await?.iter().map(|held| row(me, held)).collect();
    let page = HoldsPage {
        frame: Frame::new(app, me, Area::Checks),
        tabs: tabs(&mut conn, Sheet::Holds).await?,
        form_id: fresh_id(),
        form,
        errors,
        rows,
        may_check: me.may(Right::Check),
    };
    page::show(status, &page)
}

fn row(me: &Me, held: &HeldLot) -> Row {
    let own = || format!("/checks/holds/{}/{}", held.lot, held.laid_by);
    Row {
        href: held.lot.path(),
        code: held.code.to_string(),
        name: held.item_name.clone(),
        weight: me.shop.weight(held.grams),
        place: held.place.clone().unwrap_or_default(),
        reason: held.reason.clone(),
        since: ledger::lately(me, held.since),
        decide: held.deviation.map_or_else(own, |deviation| deviation.path()),
        of_deviation: held.deviation.is_some(),
        to_discard: held.to_discard,
    }
}
