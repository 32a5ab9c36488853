//! `/setup/items`: the shop's list of things, by form.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::super::db::{self, Item};
use super::in_use;
use crate::book::Form;
use crate::error::{Errors, Result};
use crate::rights::Right;
use crate::web::parts::{Choice, State as Mark};
use crate::web::{App, Area, Frame, Me, Query, Shop, page};

/// What is to be shown of the list.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Filter {
    /// A word of [`Form`]; empty: all.
    form: String,
    /// Letters of the name.
    name: String,
    /// "yes": what is no longer used too.
    retired: String,
}

impl Filter {
    fn shows(&self, item: &Item) -> bool {
        let letters = self.name.trim().to_lowercase();
        (self.retired == "yes" || !item.retired)
            && self.form.parse::<Form>().map_or(true, |form| form == item.form)
            && (item.name.to_lowercase().contains(&letters) || item.number.to_lowercase().contains(&letters))
    }
}

struct Row {
    href: String,
    name: String,
    number: String,
    form: &'static str,
    species: String,
    allergens: String,
    price: String,
    state: Mark,
}

impl Row {
    fn of(shop: &Shop, item: Item) -> Self {
        Self {
            href: item.id.path(),
            form: item.form.word(),
            allergens: item.allergens.join(", "),
            price: item
                .sales_price
                .map_or_else(String::new, |price| price.text(&shop.currency, shop.weight_unit())),
            state: in_use(item.retired),
            name: item.name,
            number: item.number,
            species: item.species,
        }
    }
}

#[derive(Template)]
#[template(path = "setup/items.html")]
struct ItemsPage {
    frame: Frame,
    filter: Filter,
    forms: Vec<Choice>,
    rows: Vec<Row>,
    /// Whether there is anything in the list at all.
    empty: bool,
    may_keep: bool,
    /// The filter's fields have no errors.
    errors: Errors,
}

/// The forms to pick from.
pub fn forms() -> Vec<Choice> {
    Form::ALL.into_iter().map(|form| Choice::new(form.word(), form.word())).collect()
}

/// GET `/setup/items`
pub async fn page(State(app): State<App>, me: Me, Query(filter): Query<Filter>) -> Result<Response> {
    let all = db::all_items(&mut *app.db().await?).await?;
    let empty = all.is_empty();
    let shown = all.into_iter().filter(|item| filter.shows(item));
    let page = ItemsPage {
        frame: Frame::new(&app, &me, Area::Setup),
        forms: forms(),
        rows: shown.map(|item| Row::of(&me.shop, item)).collect(),
        filter,
        empty,
        may_keep: me.may(Right::Keep),
        errors: Errors::default(),
    };
    page::show(StatusCode::OK, &page)
}
