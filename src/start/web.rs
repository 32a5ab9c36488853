//! `/start`: the one page of an empty book.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use crate::book::Stamp;
use crate::error::{Error, Errors, Result};
use crate::ids::PersonId;
use crate::people::entry::{self, PersonAdded, ShopFounded};
use crate::people::{ShopFields, initials, keep_password, line, password, sign_in_name};
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
    usual: String,
}

impl StartForm {
    fn fresh() -> Self {
        Self {
            system: "metric".into(),
            zone: "Europe/London".into(),
            currency: "GBP".into(),
            small_division: "0.1 g".into(),
            large_division: "5 g".into(),
            usual: "yes".into(),
            ..Self::default()
        }
    }

    fn shop(&self, errors: &mut Errors) -> Option<ShopFounded> {
        let fields = ShopFields {
            shop: self.shop.clone(),
            address: self.address.clone(),
            number: self.number.clone(),
            system: self.system.clone(),
            zone: self.zone.clone(),
            currency: self.currency.clone(),
            small_division: self.small_division.clone(),
            large_division: self.large_division.clone(),
        };
        fields.read(errors)
    }

    fn owner(&self, person: PersonId, errors: &mut Errors) -> Option<PersonAdded> {
        let name = line(errors, "name", &self.name, "Give your name.");
        let initials = initials(errors, &self.initials, name.as_deref());
        let sign_in = sign_in_name(errors, &self.sign_in);
        if let Err(refusal) = password::choose("password", &self.password) {
            errors.push(refusal);
        }
        Some(PersonAdded {
            person,
            name: name?,
            sign_in: sign_in?,
            initials: initials?,
            roles: vec![Role::Owner],
            by_console: false,
        })
    }
}

#[derive(Template)]
#[template(path = "start/start.html")]
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
    let form = StartForm { password: String::new(), ..form };
    let page = StartPage {
        frame: Frame::open(app),
        form_id: fresh_id(),
        form,
        errors,
        systems: ShopFields::systems(),
        zones: ShopFields::zones(),
    };
    page::show(status, &page)
}

async fn write(app: &App, form: &Form<StartForm>) -> Result<()> {
    let id = form.once.id()?;
    let person = PersonId::made_by(id);
    let mut errors = Errors::default();
    let (shop, owner) = (form.shop(&mut errors), form.owner(person, &mut errors));
    let (Some(shop), Some(owner), true) = (shop, owner, errors.is_empty()) else { return Err(errors.into()) };
    // This page is open to everyone, and hashing is work: none where there is a shop already.
    let hash = if crate::web::db::founded(&mut *app.db().await?).await? {
        String::new()
    } else {
        password::hash(app.site.hashing, form.password.clone()).await?
    };
    let stamp = Stamp { id, digest: form.once.digest, person, happened_at: None };
    let Some(mut pen) = app.book.pen(stamp).await? else { return Ok(()) };
    let founded = crate::web::db::founded(&mut pen).await?;
    pen.append(entry::found(shop, founded)?).await?;
    pen.append(entry::add(owner)?).await?;
    keep_password(&mut pen, person, &hash).await?;
    if form.usual == "yes" {
        super::ship(&mut pen).await?;
    }
    pen.commit().await
}
