//! `/setup/items/{id}` and `/setup/items/new`: one thing of the list.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db::{self, Item};
use super::super::entry::{self, ItemWritten};
use super::{items, tick};
use crate::book::{self, Form as LotForm};
use crate::error::{Error, Errors, Result};
use crate::ids::ItemId;
use crate::measure::{PricePerKg, WeightUnit, parse_price_in};
use crate::rights::{Right, needs::Keep};
use crate::standards::allergens::{ALLERGENS, Allergen};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Fact, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

/// How many lines about the thing the page shows.
const LINES: i64 = 20;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ItemForm {
    name: String,
    form: String,
    species: String,
    label_name: String,
    number: String,
    allergens: Vec<String>,
    sales_price: String,
    by_product: String,
    retired: String,
}

impl ItemForm {
    fn of(shop: &Shop, item: &Item) -> Self {
        Self {
            name: item.name.clone(),
            form: item.form.word().to_owned(),
            species: item.species.clone(),
            label_name: item.label_name.clone(),
            number: item.number.clone(),
            allergens: item.allergens.clone(),
            sales_price: item.sales_price.map_or_else(String::new, |price| typed(price, shop.weight_unit())),
            by_product: tick(item.by_product),
            retired: tick(item.retired),
        }
    }

    fn read(&self, item: ItemId, shop: &Shop) -> Result<ItemWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the name.");
        let form: Option<LotForm> = read.value("form", &self.form, "Choose what form it has.");
        let species = read.line_or_empty("species", &self.species);
        let label_name = read.line_or_empty("label_name", &self.label_name);
        let number = read.line_or_empty("number", &self.number);
        let known: Option<Vec<String>> = self
            .allergens
            .iter()
            .map(|word| Allergen::find(word).map(|allergen| allergen.word.to_owned()))
            .collect();
        let allergens = read.take("allergens", known.ok_or("One of these is not in the list."));
        let sales_price = if self.sales_price.trim().is_empty() {
            Some(None)
        } else {
            let price = parse_price_in(&self.sales_price, shop.weight_unit(), shop.currency);
            read.take("sales_price", price).map(Some)
        };
        read.finish(|| {
            Some(ItemWritten {
                item,
                name: name?,
                form: form?,
                species: species?.to_lowercase(),
                label_name: label_name?,
                number: number?,
                allergens: allergens?,
                sales_price: sales_price?,
                by_product: self.by_product == "yes",
                retired: self.retired == "yes",
            })
        })
    }
}

/// A price as it could be typed, so that it comes back as it was.
fn typed(price: PricePerKg, unit: WeightUnit) -> String {
    price.in_unit(unit).round_dp(4).normalize().to_string()
}

#[derive(Template)]
#[template(path = "setup/item.html")]
struct ItemPage {
    frame: Frame,
    /// Where the form goes.
    action: String,
    /// Empty for a new one.
    name: String,
    form_id: Uuid,
    form: ItemForm,
    errors: Errors,
    forms: Vec<Choice>,
    allergens: Vec<Choice>,
    price_unit: String,
    facts: Vec<Fact>,
    lines: Vec<Line>,
    may_keep: bool,
}

/// GET `/setup/items/new`
pub async fn fresh(State(app): State<App>, me: Signer<Keep>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, ItemForm::default(), Errors::default()).await
}

/// GET `/setup/items/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<ItemId>) -> Result<Response> {
    let item = db::any_item(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let form = ItemForm::of(&me.shop, &item);
    ask(&app, &me, StatusCode::OK, Some(item), form, Errors::default()).await
}

/// POST `/setup/items`
pub async fn add(State(app): State<App>, me: Signer<Keep>, form: Form<ItemForm>) -> Result<Response> {
    let done = match form.once.id() {
        Ok(id) => sign(&app, &me, ItemId::made_by(id), &form).await,
        Err(refusal) => Err(refusal.into()),
    };
    answer(&app, &me, None, form.fields, done).await
}

/// POST `/setup/items/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<ItemId>,
    form: Form<ItemForm>,
) -> Result<Response> {
    let item = db::any_item(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let done = sign(&app, &me, id, &form).await;
    answer(&app, &me, Some(item), form.fields, done).await
}

async fn sign(app: &App, me: &Me, id: ItemId, form: &Form<ItemForm>) -> Result<ItemId> {
    let item = form.read(id, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(id) };
    let stands = db::item_stands(&mut pen, id).await?;
    pen.append(entry::write_item(item, stands)?).await?;
    pen.commit().await?;
    Ok(id)
}

async fn answer(
    app: &App,
    me: &Me,
    item: Option<Item>,
    form: ItemForm,
    done: Result<ItemId>,
) -> Result<Response> {
    match done {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, item, form, errors).await,
        Err(other) => Err(other),
    }
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    item: Option<Item>,
    form: ItemForm,
    errors: Errors,
) -> Result<Response> {
    let lines = match &item {
        Some(item) => {
            let entries = book::db::about(&mut *app.db().await?, item.id.0, LINES).await?;
            ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?
        }
        None => vec![],
    };
    let page = ItemPage {
        frame: Frame::new(app, me, Area::Setup),
        action: item.as_ref().map_or_else(|| "/setup/items".to_owned(), |item| item.id.path()),
        facts: item.as_ref().map(|item| facts(&me.shop, item)).unwrap_or_default(),
        name: item.map(|item| item.name).unwrap_or_default(),
        form_id: fresh_id(),
        form,
        errors,
        forms: items::forms(),
        allergens: allergens(),
        price_unit: format!("{}/{}", me.shop.currency, me.shop.weight_unit()),
        lines,
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}

fn allergens() -> Vec<Choice> {
    let choice = |allergen: Allergen| {
        let note =
            [allergen.note, allergen.named_by()].join(if allergen.note.is_empty() { "" } else { "; " });
        Choice::new(allergen.word, allergen.word).note(note)
    };
    ALLERGENS.into_iter().map(choice).collect()
}

fn facts(shop: &Shop, item: &Item) -> Vec<Fact> {
    let price = item.sales_price.map(|price| price.text(&shop.currency, shop.weight_unit()));
    let facts = [
        Fact::new("Form", item.form.word()),
        Fact::new("Species", item.species.clone()),
        Fact::new("Number", item.number.clone()),
        Fact::new("On a label", item.label_name.clone()),
        Fact::new("Allergens", item.allergens.join(", ")),
        Fact::new("Sells for", price.unwrap_or_default()),
        Fact::new("By-product", if item.by_product { "yes" } else { "no" }),
        Fact::new("In use", if item.retired { "no longer" } else { "yes" }),
    ];
    facts.into_iter().filter(|fact| !fact.value.is_empty()).collect()
}
