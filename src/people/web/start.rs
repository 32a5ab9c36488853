//! `/start`: the first start, which makes the shop and its owner.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::entry::{self, PersonAdded, ShopFounded};
use super::super::{db, password};
use crate::book::Stamp;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::PersonId;
use crate::measure::{
    Currency, Grams, Initials, ShopZone, UnitSystem, WeightUnit, note, one_line, positive_weight, zone_names,
};
use crate::rights::Role;
use crate::web::parts::Choice;
use crate::web::{App, Form, Frame, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct StartForm {
    shop: String,
    address: String,
    number: String,
    system: String,
    zone: String,
    currency: String,
    small_division: String,
    large_division: String,
    name: String,
    initials: String,
    sign_in: String,
    password: String,
}

impl StartForm {
    fn fresh() -> Self {
        Self {
            system: "metric".into(),
            zone: "Europe/London".into(),
            currency: "GBP".into(),
            small_division: "0.1 g".into(),
            large_division: "5 g".into(),
            ..Self::default()
        }
    }

    fn shop(&self, errors: &mut Errors) -> Option<ShopFounded> {
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

    fn owner(&self, person: PersonId, errors: &mut Errors) -> Option<PersonAdded> {
        let name = line(errors, "name", &self.name, "Give your name.");
        let initials = match (&name, self.initials.trim()) {
            (Some(name), "") => take(errors, "initials", Initials::of_name(name)),
            (_, typed) => take(errors, "initials", Initials::parse(typed)),
        };
        let sign_in = line(errors, "sign_in", &self.sign_in, "Give the name that you will sign in with.");
        let length = self.password.chars().count();
        if length < password::LEAST {
            let say = format!("Use at least {} characters. A few plain words do.", password::LEAST);
            errors.push(Refusal::at("password", say));
        } else if length > password::MOST {
            errors.push(Refusal::at("password", "This is longer than a password may be."));
        }
        Some(PersonAdded {
            person,
            name: name?,
            sign_in: sign_in?.to_lowercase(),
            initials: initials?,
            roles: vec![Role::Owner],
        })
    }
}

fn take<T, E: std::fmt::Display>(errors: &mut Errors, field: &'static str, read: Result<T, E>) -> Option<T> {
    read.map_err(|why| errors.push(Refusal::at(field, why.to_string()))).ok()
}

fn line(errors: &mut Errors, field: &'static str, text: &str, missing: &str) -> Option<String> {
    if text.trim().is_empty() {
        errors.push(Refusal::at(field, missing));
        return None;
    }
    take(errors, field, one_line(text, crate::web::reader::LINE))
}

fn division(errors: &mut Errors, field: &'static str, text: &str) -> Option<Grams> {
    take(errors, field, positive_weight(text, WeightUnit::Gram))
}

#[derive(Template)]
#[template(path = "people/start.html")]
struct StartPage {
    frame: Frame,
    form_id: Uuid,
    form: StartForm,
    errors: Errors,
    systems: Vec<Choice>,
    zones: Vec<Choice>,
}

/// GET `/start`
pub async fn page(State(app): State<App>) -> Result<Response> {
    if crate::web::db::founded(&mut *app.db().await?).await? {
        return page::goto("/sign-in");
    }
    ask(&app, StatusCode::OK, StartForm::fresh(), Errors::default())
}

/// POST `/start`
pub async fn found(State(app): State<App>, form: Form<StartForm>) -> Result<Response> {
    match write(&app, &form).await {
        Ok(()) => page::goto("/sign-in"),
        Err(Error::Form(errors)) => ask(&app, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors),
        Err(other) => Err(other),
    }
}

fn ask(app: &App, status: StatusCode, form: StartForm, errors: Errors) -> Result<Response> {
    let systems = vec![Choice::new("metric", "Kilograms and °C"), Choice::new("us", "Pounds and °F")];
    let zones = zone_names().into_iter().map(|name| Choice::new(name, name)).collect();
    let form = StartForm { password: String::new(), ..form };
    let page = StartPage { frame: Frame::open(app), form_id: fresh_id(), form, errors, systems, zones };
    page::show(status, &page)
}

async fn write(app: &App, form: &Form<StartForm>) -> Result<()> {
    let id = form.once.id()?;
    let person = PersonId::made_by(id);
    let mut errors = Errors::default();
    let (shop, owner) = (form.shop(&mut errors), form.owner(person, &mut errors));
    let (Some(shop), Some(owner), true) = (shop, owner, errors.is_empty()) else { return Err(errors.into()) };
    let hash = password::hash(app.site.hashing, form.password.clone()).await?;
    let stamp = Stamp { id, digest: form.once.digest, person, happened_at: None };
    let Some(mut pen) = app.book.pen(stamp).await? else { return Ok(()) };
    let founded = crate::web::db::founded(&mut pen).await?;
    pen.append(entry::found(shop, founded)?).await?;
    pen.append(entry::add(owner)?).await?;
    db::keep_password(&mut pen, person, &hash).await?;
    pen.commit().await
}
