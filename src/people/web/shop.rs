//! `/setup/shop`: what the shop says of itself.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, ShopChanged, ShopFounded};
use super::{line, take};
use crate::error::{Error, Errors, Result};
use crate::measure::{
    Currency, Grams, ShopZone, UnitSystem, WeightUnit, note, one_line, positive_weight, zone_names,
};
use crate::rights::{Right, needs::Keep};
use crate::web::parts::{Choice, Fact};
use crate::web::{App, Area, Form, Frame, Me, Shop, Signer, fresh_id, page};

/// The fields of the shop, as two forms have them.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ShopFields {
    pub shop: String,
    pub address: String,
    pub number: String,
    pub system: String,
    pub zone: String,
    pub currency: String,
    pub small_division: String,
    pub large_division: String,
}

impl ShopFields {
    fn of(shop: &Shop) -> Self {
        Self {
            shop: shop.name.clone(),
            address: shop.address.clone(),
            number: shop.number.clone(),
            system: shop.system.to_string(),
            zone: shop.zone.to_string(),
            currency: shop.currency.to_string(),
            small_division: format!("{} g", shop.small_division.decimal().normalize()),
            large_division: format!("{} g", shop.large_division.decimal().normalize()),
        }
    }

    /// Reads all of them, each problem at its field.
    pub fn read(&self, errors: &mut Errors) -> Option<ShopFounded> {
        let name = line(errors, "shop", &self.shop, "Give the shop's name.");
        let address = take(errors, "address", note(&self.address, 400));
        let number = if self.number.trim().is_empty() {
            Some(String::new())
        } else {
            take(errors, "number", one_line(&self.number, 40))
        };
        let system = take(errors, "system", self.system.parse::<UnitSystem>());
        let zone = take(errors, "zone", ShopZone::parse(&self.zone));
        let currency = take(errors, "currency", Currency::parse(&self.currency));
        let small_division = division(errors, "small_division", &self.small_division);
        let large_division = division(errors, "large_division", &self.large_division);
        Some(ShopFounded {
            name: name?,
            address: address?,
            number: number?,
            system: system?,
            zone: zone?,
            currency: currency?,
            small_division: small_division?,
            large_division: large_division?,
        })
    }

    /// The answers to the question of units.
    pub fn systems() -> Vec<Choice> {
        vec![Choice::new("metric", "Kilograms and °C"), Choice::new("us", "Pounds and °F")]
    }

    /// The zones of the world by name.
    pub fn zones() -> Vec<Choice> {
        zone_names().into_iter().map(|name| Choice::new(name, name)).collect()
    }
}

fn division(errors: &mut Errors, field: &'static str, text: &str) -> Option<Grams> {
    take(errors, field, positive_weight(text, WeightUnit::Gram))
}

#[derive(Template)]
#[template(path = "people/shop.html")]
struct ShopPage {
    frame: Frame,
    form_id: Uuid,
    form: ShopFields,
    errors: Errors,
    systems: Vec<Choice>,
    zones: Vec<Choice>,
    facts: Vec<Fact>,
    may_keep: bool,
}

/// GET `/setup/shop`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, ShopFields::of(&me.shop), Errors::default())
}

/// POST `/setup/shop`
pub async fn change(State(app): State<App>, me: Signer<Keep>, form: Form<ShopFields>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/setup/shop"),
        Err(Error::Form(errors)) => ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors),
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<ShopFields>) -> Result<()> {
    let mut errors = Errors::default();
    let (Some(shop), true) = (form.read(&mut errors), errors.is_empty()) else { return Err(errors.into()) };
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let money = db::has_money(&mut pen).await?;
    pen.append(entry::change_shop(ShopChanged(shop), me.shop.currency, money)?).await?;
    pen.commit().await
}

fn ask(app: &App, me: &Me, status: StatusCode, form: ShopFields, errors: Errors) -> Result<Response> {
    let said = ShopFields::of(&me.shop);
    let facts = vec![
        Fact::new("Name", said.shop),
        Fact::new("Address", said.address),
        Fact::new("Establishment or approval number", said.number),
        Fact::new("Time zone", said.zone),
        Fact::new("Currency", said.currency),
        Fact::new("Division of the small scale", said.small_division),
        Fact::new("Division of the large scale", said.large_division),
    ];
    let page = ShopPage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form,
        errors,
        systems: ShopFields::systems(),
        zones: ShopFields::zones(),
        facts: facts.into_iter().filter(|fact| !fact.value.is_empty()).collect(),
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
