//! `/receiving/checks`: what the shop holds every line of a docket against.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{Checks, ChecksWritten};
use super::rows;
use crate::error::{Error, Errors, Result};
use crate::measure::{Celsius, TemperatureUnit};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::parts::{Fact, Tab};
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ChecksForm {
    chilled: String,
    carcass: String,
    offal: String,
    solution: String,
    frozen: String,
    supplier: String,
    docket: String,
}

impl ChecksForm {
    fn of(checks: &Checks, shop: &Shop) -> Self {
        let tick = |on: bool| if on { "yes".to_owned() } else { String::new() };
        let degrees = |limit: Option<Celsius>| limit.map(|limit| degrees(limit, shop)).unwrap_or_default();
        Self {
            chilled: degrees(checks.chilled),
            carcass: degrees(checks.carcass),
            offal: degrees(checks.offal),
            solution: tick(checks.solution),
            frozen: tick(checks.frozen),
            supplier: tick(checks.supplier),
            docket: tick(checks.docket),
        }
    }

    fn read(&self, shop: &Shop) -> Result<Checks, Errors> {
        let mut read = Reader::new(shop);
        let chilled = read.maybe_temperature("chilled", &self.chilled);
        let carcass = read.maybe_temperature("carcass", &self.carcass);
        let offal = read.maybe_temperature("offal", &self.offal);
        for (field, limit) in [("chilled", chilled), ("carcass", carcass), ("offal", offal)] {
            if limit.flatten().is_some_and(|limit| limit > WARMEST) {
                read.refuse(field, format!("A limit at the door is at most {}.", WARMEST.text(shop.system)));
            }
        }
        read.finish(|| {
            Some(Checks {
                chilled: chilled?,
                carcass: carcass?,
                offal: offal?,
                solution: self.solution == "yes",
                frozen: self.frozen == "yes",
                supplier: self.supplier == "yes",
                docket: self.docket == "yes",
            })
        })
    }
}

/// Above the warmest that any rule lets fresh meat come in, with room for a shop that takes it in warm from slaughter:
/// a body's own 40 °C. More is a slip.
const WARMEST: Celsius = Celsius::whole(40);

/// A limit as it is typed, in the shop's unit.
fn degrees(limit: Celsius, shop: &Shop) -> String {
    let figure = match shop.temperature_unit() {
        TemperatureUnit::Celsius => limit.decimal(),
        TemperatureUnit::Fahrenheit => limit.fahrenheit().round_dp(1),
    };
    figure.normalize().to_string()
}

#[derive(Template)]
#[template(path = "receiving/checks.html")]
struct ChecksPage {
    frame: Frame,
    tabs: Vec<Tab>,
    form_id: Uuid,
    form: ChecksForm,
    errors: Errors,
    facts: Vec<Fact>,
    temperature_unit: String,
    may_keep: bool,
}

/// GET `/receiving/checks`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, Errors::default()).await
}

/// POST `/receiving/checks`
pub async fn set(State(app): State<App>, me: Signer<Keep>, form: Form<ChecksForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/receiving/checks"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<ChecksForm>) -> Result<()> {
    let checks = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(ChecksWritten { checks }).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    form: Option<ChecksForm>,
    errors: Errors,
) -> Result<Response> {
    let checks = db::checks(&mut *app.db().await?, me.shop.system).await?;
    let page = ChecksPage {
        frame: Frame::new(app, me, Area::Receiving),
        tabs: rows::tabs("/receiving/checks"),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| ChecksForm::of(&checks, &me.shop)),
        errors,
        facts: facts(&checks, &me.shop),
        temperature_unit: me.shop.temperature_unit().to_string(),
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}

fn facts(checks: &Checks, shop: &Shop) -> Vec<Fact> {
    let limit = |limit: Option<Celsius>| {
        limit.map_or_else(
            || "not checked".to_owned(),
            |limit| format!("{} or colder", limit.text(shop.system)),
        )
    };
    let asked = |on: bool, word: &str| if on { word.to_owned() } else { "not checked".to_owned() };
    vec![
        Fact::new("Chilled product", limit(checks.chilled)),
        Fact::new("Carcasses and sides", limit(checks.carcass)),
        Fact::new("Offal", limit(checks.offal)),
        Fact::new("Added solution in primals, cuts, trim and offal", asked(checks.solution, "none")),
        Fact::new("Carcasses, sides, primals and cuts", asked(checks.frozen, "never frozen")),
        Fact::new("Supplier", asked(checks.supplier, "approved on the day")),
        Fact::new("Docket", asked(checks.docket, "with a number")),
    ]
}
