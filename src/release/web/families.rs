//! `/release/families`: the shop's families, the shipped ones, and which product is in which.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use crate::book::Form;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{FamilyId, ItemId};
use crate::release::db;
use crate::release::entry::family::shipped;
use crate::release::entry::{FamilyWritten, ProductPlaced};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::setup;
use crate::web::parts::{Choice, State as Mark};
use crate::web::{App, Area, Form as Sent, Frame, Me, Reader, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PlaceForm {
    product: String,
    family: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct CopyForm {
    name: String,
    shipped: String,
}

struct FamilyRow {
    href: String,
    name: String,
    words: String,
    version: String,
    asks: Vec<String>,
    state: Option<Mark>,
}

struct ProductRow {
    href: String,
    name: String,
    family: String,
    family_path: String,
}

#[derive(Template)]
#[template(path = "release/families.html")]
struct FamiliesPage {
    frame: Frame,
    families: Vec<FamilyRow>,
    products: Vec<ProductRow>,
    place_id: Uuid,
    place: PlaceForm,
    copy_id: Uuid,
    copy: CopyForm,
    errors: Errors,
    copy_errors: Errors,
    choose_product: Vec<Choice>,
    choose_family: Vec<Choice>,
    choose_shipped: Vec<Choice>,
    may_keep: bool,
    who_decides: &'static str,
}

/// GET `/release/families`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    draw(&app, &me, StatusCode::OK, Filled::default()).await
}

/// What was typed on one of the two forms, and what is wrong with it.
#[derive(Default)]
struct Filled {
    place: PlaceForm,
    errors: Errors,
    copy: CopyForm,
    copy_errors: Errors,
}

/// POST `/release/products`
pub async fn place(State(app): State<App>, me: Signer<Keep>, form: Sent<PlaceForm>) -> Result<Response> {
    match sign_place(&app, &me, &form).await {
        Ok(()) => page::goto("/release/families"),
        Err(Error::Form(errors)) => {
            let filled = Filled { place: form.fields, errors, ..Filled::default() };
            draw(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, filled).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_place(app: &App, me: &Me, form: &Sent<PlaceForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let product = read.value::<ItemId>("product", &form.product, "Choose the product.");
    let family = read.value::<FamilyId>("family", &form.family, "Choose its family.");
    let (product, family) = read.finish(|| Some((product?, family?)))?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let item = setup::item(&mut pen, product).await?;
    let item = item.ok_or_else(|| Refusal::at("product", "There is no such product."))?;
    let family = if let Some((family, _)) = db::family(&mut pen, family).await? {
        family
    } else {
        // One that is shipped becomes the shop's own, word for word, when the first product goes into it.
        let all = shipped()?;
        let found = all.iter().find(|shipped| shipped.id() == family);
        let found = found.ok_or_else(|| Refusal::at("family", "There is no such family."))?;
        let taken = found.taken_up();
        pen.append(taken.clone()).await?;
        taken
    };
    pen.append(ProductPlaced { product: item.named(), family: family.named() }).await?;
    pen.commit().await
}

/// POST `/release/families`
pub async fn copy(State(app): State<App>, me: Signer<Keep>, form: Sent<CopyForm>) -> Result<Response> {
    match sign_copy(&app, &me, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(copy_errors)) => {
            let filled = Filled { copy: form.fields, copy_errors, ..Filled::default() };
            draw(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, filled).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_copy(app: &App, me: &Me, form: &Sent<CopyForm>) -> Result<FamilyId> {
    let mut read = Reader::new(&me.shop);
    let name = read.line("name", &form.name, "Give the family a name.");
    let name = read.finish(|| name)?;
    let all = shipped()?;
    let from = all.iter().find(|shipped| shipped.key == form.shipped);
    let from = from.ok_or_else(|| Refusal::at("shipped", "Choose the family that it begins from."))?;
    let id = FamilyId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(id) };
    let family = FamilyWritten { family: id, name, ..from.taken_up() };
    pen.append(family).await?;
    pen.commit().await?;
    Ok(id)
}

async fn draw(app: &App, me: &Me, status: StatusCode, filled: Filled) -> Result<Response> {
    let mut conn = app.db().await?;
    let own = db::families(&mut conn).await?;
    let shipped = shipped()?;
    let products = db::products(&mut conn).await?;
    let items = setup::items(&mut conn, &[]).await?;
    let mut families: Vec<FamilyRow> =
        own.iter().map(|(family, version)| own_row(family, *version)).collect();
    families.extend(shipped.iter().filter(|one| own.iter().all(|(own, _)| own.family != one.id())).map(
        |one| FamilyRow {
            href: one.id().path(),
            name: one.name.clone(),
            words: one.words.clone(),
            version: "shipped, no product in it yet".into(),
            asks: one.criteria.iter().map(|criterion| criterion.rule.words()).collect(),
            state: None,
        },
    ));
    let words = |key: &str| shipped.iter().find(|one| one.key == key).map(|one| one.words.clone());
    for (row, (family, _)) in families.iter_mut().zip(&own) {
        row.words = words(&family.shipped).unwrap_or_default();
    }
    let choose_family = own.iter().map(|(family, _)| Choice::new(family.family, family.name.clone()));
    let rest = shipped.iter().filter(|one| own.iter().all(|(own, _)| own.family != one.id()));
    let choose_family = choose_family.chain(rest.map(|one| Choice::new(one.id(), one.name.clone())));
    let sold = items.iter().filter(|item| item.form.is_meat() || item.form == Form::Piece);
    let page = FamiliesPage {
        frame: Frame::new(app, me, Area::Setup),
        families,
        products: products.into_iter().map(product_row).collect(),
        place_id: fresh_id(),
        place: filled.place,
        copy_id: fresh_id(),
        copy: filled.copy,
        errors: filled.errors,
        copy_errors: filled.copy_errors,
        choose_product: sold.map(|item| Choice::new(item.id, item.name.clone())).collect(),
        choose_family: choose_family.collect(),
        choose_shipped: shipped.iter().map(|one| Choice::new(&one.key, one.name.clone())).collect(),
        may_keep: me.may(Right::Keep),
        who_decides: super::WHO_DECIDES,
    };
    page::show(status, &page)
}

fn own_row(family: &FamilyWritten, version: u32) -> FamilyRow {
    FamilyRow {
        href: family.family.path(),
        name: family.name.clone(),
        words: String::new(),
        version: format!("version {version}"),
        asks: family.criteria.iter().map(|criterion| criterion.rule.words()).collect(),
        state: (!family.loosened.is_empty()).then(|| Mark::new("late", "asks less than shipped")),
    }
}

fn product_row(placed: db::Placed) -> ProductRow {
    ProductRow {
        href: placed.product.id.path(),
        name: placed.product.name,
        family: placed.family.as_ref().map(|family| family.name.clone()).unwrap_or_default(),
        family_path: placed.family.map(|family| family.id.path()).unwrap_or_default(),
    }
}
