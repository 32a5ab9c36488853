//! `/receiving/deliveries/{id}`: the lines that are signed, and the form for the next one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use uuid::Uuid;

use super::super::db::{self, Delivery, LineNow, Supplier};
use super::super::entry::{Answer, Checks};
use super::line_form::{self, LineForm};
use super::suppliers::approved;
use super::take_in::{AT_THE_DOOR, at_the_door, sign};
use crate::book::{self, Form as LotForm};
use crate::error::{Error, Errors, Result};
use crate::ids::DeliveryId;
use crate::measure::Grams;
use crate::rights::Right;
use crate::rights::needs::Receive;
use crate::setup::{self, Item};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Figure, Line, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Path, Query, Shop, Signer, Topic, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 400;
/// How many of a supplier's usual things can be picked at once.
const USUAL: i64 = 6;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Chosen {
    item: String,
}

/// A thing of this supplier that can be picked at once.
struct Usual {
    href: String,
    name: String,
    form: &'static str,
}

/// What the form of the next line needs beside its fields.
struct Next {
    item_name: String,
    meat: bool,
    basis: bool,
    ingredient: bool,
    temperature_unit: String,
    temperature_hint: String,
    price_unit: String,
    cure_hint: String,
    nitrite_salts: Vec<Choice>,
    nitrate_salts: Vec<Choice>,
    bases: Vec<Choice>,
    states: Vec<Choice>,
    cures: Vec<Choice>,
    answers: Vec<Choice>,
    places: Vec<Choice>,
}

#[derive(Template)]
#[template(path = "receiving/delivery.html")]
struct DeliveryPage {
    frame: Frame,
    /// What later rooms add, each a section of HTML.
    added: Vec<String>,
    id: DeliveryId,
    supplier_name: String,
    supplier_href: String,
    docket: String,
    came: String,
    standing: Mark,
    struck: bool,
    figures: Vec<Figure>,
    lines: Vec<Line>,
    may_receive: bool,
    form_id: Uuid,
    form: LineForm,
    errors: Errors,
    /// None while it is not said what comes next.
    next: Option<Next>,
    usual: Vec<Usual>,
    items: Vec<Choice>,
}

/// GET `/receiving/deliveries/{id}`, with the form of the next line where `?item=` says what it is.
pub async fn page(
    State(app): State<App>,
    me: Me,
    Path(id): Path<DeliveryId>,
    Query(chosen): Query<Chosen>,
) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, Asked::Fresh(chosen.item), Errors::default()).await
}

/// POST `/receiving/deliveries/{id}`
pub async fn take_in(
    State(app): State<App>,
    me: Signer<Receive>,
    Path(id): Path<DeliveryId>,
    form: Form<LineForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(item) => page::goto(&format!("{}?item={item}", id.path())),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Asked::Typed(Box::new(form.fields)), errors)
                .await
        }
        Err(other) => Err(other),
    }
}

/// Where the form of the next line comes from.
enum Asked {
    /// The item of the address; may be empty.
    Fresh(String),
    Typed(Box<LineForm>),
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: DeliveryId,
    asked: Asked,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let delivery = db::delivery(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let supplier = db::supplier(&mut conn, delivery.supplier).await?.ok_or(Error::NotFound)?;
    let now = db::lines_now(&mut conn, id).await?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let style = Style { strike: me.may(Right::Receive), ..Style::default() };
    let lines = stand(ledger::lines(&app.book.kinds, me, &entries, style)?, &entries, &now);
    let (form, next) = next_line(&mut conn, me, &delivery, &supplier, asked).await?;
    let usual = db::usual_items(&mut conn, supplier.id, USUAL).await?;
    let items = setup::items(&mut conn, &AT_THE_DOOR).await?;
    let came = ledger::moment(me, delivery.happened_at);
    let page = DeliveryPage {
        frame: Frame::new(app, me, Area::Receiving),
        added: app.parts(me, Topic::Delivery(id)).await?,
        id,
        supplier_name: supplier.name.clone(),
        supplier_href: supplier.id.path(),
        docket: if delivery.docket.is_empty() {
            "no docket".into()
        } else {
            format!("docket {}", delivery.docket)
        },
        came,
        standing: approved(me, supplier.retired, supplier.approved_until),
        struck: delivery.struck,
        figures: figures(&me.shop, &delivery, &now),
        lines,
        may_receive: me.may(Right::Receive) && !delivery.struck,
        form_id: fresh_id(),
        form,
        errors,
        next,
        usual: usual
            .into_iter()
            .map(|one| Usual {
                href: format!("{}?item={}", id.path(), one.item),
                name: one.name,
                form: one.form.word(),
            })
            .collect(),
        items: items
            .iter()
            .map(|item| Choice::new(item.id, item.name.clone()).note(item.form.word()))
            .collect(),
    };
    page::show(status, &page)
}

async fn next_line(
    db: &mut PgConnection,
    me: &Me,
    delivery: &Delivery,
    supplier: &Supplier,
    asked: Asked,
) -> Result<(LineForm, Option<Next>)> {
    let chosen = match &asked {
        Asked::Fresh(item) => item,
        Asked::Typed(form) => &form.item,
    };
    let Some(item) = at_the_door(db, chosen).await? else {
        let form = if let Asked::Typed(form) = asked { *form } else { LineForm::default() };
        return Ok((form, None));
    };
    let places = setup::places(db).await?;
    let checks = db::checks(db, me.shop.system).await?;
    let strength = db::last_strength(db, item.id).await?;
    let form = match asked {
        Asked::Typed(form) => *form,
        Asked::Fresh(_) => {
            let last = db::last_like(db, delivery.id, item.id).await?;
            LineForm::fresh(&me.shop, &item, supplier, &places, last.as_ref(), strength.is_some())
        }
    };
    let cure_hint = strength.map_or_else(String::new, |strength| {
        format!(
            "The lot before this one: {} nitrite, {} nitrate.",
            strength.nitrite.text_places(2),
            strength.nitrate.text_places(2)
        )
    });
    let places = places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect();
    Ok((form, Some(next(&me.shop, &item, &checks, cure_hint, places))))
}

fn next(shop: &Shop, item: &Item, checks: &Checks, cure_hint: String, places: Vec<Choice>) -> Next {
    let words = |word: &'static str| Choice::new(word, word);
    let warmest = checks.warmest(item.form);
    Next {
        item_name: item.name.clone(),
        meat: item.form.is_meat(),
        basis: line_form::has_basis(item.form),
        ingredient: item.form == LotForm::Ingredient,
        temperature_unit: shop.temperature_unit().to_string(),
        temperature_hint: warmest
            .map(|most| format!("Asked for: {} or colder.", most.text(shop.system)))
            .unwrap_or_default(),
        price_unit: format!("{}/{}", shop.currency, shop.weight_unit()),
        cure_hint,
        nitrite_salts: vec![Choice::new("potassium", "KNO2, potassium nitrite")],
        nitrate_salts: vec![Choice::new("potassium", "KNO3, potassium nitrate")],
        bases: ["hot", "chilled"].map(words).to_vec(),
        states: line_form::STATES.map(|(value, word)| Choice::new(value, word)).to_vec(),
        cures: vec![Choice::new("no", "no"), Choice::new("yes", "yes, a cure")],
        answers: Answer::ALL.map(|answer| words(answer.word())).to_vec(),
        places,
    }
}

/// The signed lines, each with where it leads and, where it was held, whether it still is.
fn stand(mut lines: Vec<Line>, entries: &[book::db::Read], now: &[LineNow]) -> Vec<Line> {
    for (line, entry) in lines.iter_mut().zip(ledger::shown(entries)) {
        let Some(standing) = now.iter().find(|one| one.seq == entry.at.seq) else { continue };
        if let Some(lot) = standing.lot {
            line.href = lot.path();
        }
        if standing.held {
            line.state = Some(Mark::new("held", "on hold"));
        } else if standing.answer == "on hold" {
            line.state = Some(Mark::new("met", "hold lifted"));
        }
    }
    lines
}

fn figures(shop: &Shop, delivery: &Delivery, now: &[LineNow]) -> Vec<Figure> {
    let taken: Vec<&LineNow> = now.iter().filter(|line| line.lot.is_some()).collect();
    let grams: Grams = taken.iter().map(|line| line.grams).sum();
    let (value, unit) = grams.figure(shop.system);
    let count = |count: usize| if count == 1 { "1 line".to_owned() } else { format!("{count} lines") };
    let held = taken.iter().filter(|line| line.held).count();
    let beneath =
        if held == 0 { count(taken.len()) } else { format!("{}, {held} on hold", count(taken.len())) };
    let mut figures = vec![Figure::new("Taken in", value, unit).beneath(beneath).chief()];
    let refused: Vec<Grams> = now.iter().filter(|line| line.lot.is_none()).map(|line| line.grams).collect();
    if !refused.is_empty() {
        let (value, unit) = refused.iter().copied().sum::<Grams>().figure(shop.system);
        figures.push(Figure::new("Refused", value, unit).beneath(count(refused.len())));
    }
    if let Some(vehicle) = delivery.vehicle {
        let (here, other) = vehicle.both(shop.system);
        let value = here.split_whitespace().next().unwrap_or_default().to_owned();
        let unit = shop.temperature_unit().to_string();
        figures.push(Figure::new("Vehicle", value, unit).beneath(other));
    }
    figures
}
