//! `/parasites/products/{id}`: what is done against parasites in one product, and choosing it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db::{self, Chosen, ConfirmedMethod};
use super::super::entry::{self, Control, ControlChosen, Stated};
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::{ItemId, Named};
use crate::measure::{Length, LengthUnit, UnitSystem, parse_length};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::standards::Mark;
use crate::standards::trichinella::{CAUTION, Method};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Fact, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 20;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ControlForm {
    control: String,
    document: String,
    reason: String,
    particle: String,
    states: Vec<String>,
}

/// What a length is typed in, by the shop's system.
pub fn length_unit(shop: &Shop) -> LengthUnit {
    match shop.system {
        UnitSystem::Metric => LengthUnit::Millimetre,
        UnitSystem::Us => LengthUnit::Inch,
    }
}

/// A length as it is typed.
pub fn length_text(shop: &Shop, length: Length) -> String {
    let unit = length_unit(shop);
    format!("{} {}", length.number(unit).round_dp(3).normalize(), unit.symbol())
}

impl ControlForm {
    fn of(shop: &Shop, chosen: &Chosen) -> Self {
        Self {
            control: chosen.control.clone(),
            document: chosen.document.clone(),
            reason: chosen.reason.clone(),
            particle: chosen.particle.map(|length| length_text(shop, length)).unwrap_or_default(),
            states: chosen.states.clone(),
        }
    }

    fn read(&self, shop: &Shop, product: Named<ItemId>) -> Result<ControlChosen, Errors> {
        let mut read = Reader::new(shop);
        let control: Option<Control> =
            read.value("control", &self.control, "Choose what is done against parasites.");
        let document = read.line_or_empty("document", &self.document);
        let reason = read.note_or_empty("reason", &self.reason);
        let particle = if self.particle.trim().is_empty() {
            Some(None)
        } else {
            read.take("particle", parse_length(&self.particle, length_unit(shop))).map(Some)
        };
        let states: Option<Vec<Stated>> = self.states.iter().map(|word| word.parse().ok()).collect();
        if states.is_none() {
            read.refuse("states", "Choose from the list.");
        }
        read.finish(|| {
            let control = control?.key().to_owned();
            let (document, reason, particle) = (document?, reason?, particle?);
            Some(ControlChosen { product, control, document, reason, particle, states: states? })
        })
    }
}

#[derive(Template)]
#[template(path = "parasites/product.html")]
struct ProductPage {
    frame: Frame,
    id: ItemId,
    name: String,
    caution: &'static str,
    facts: Vec<Fact>,
    form_id: Uuid,
    form: ControlForm,
    errors: Errors,
    controls: Vec<Choice>,
    states: Vec<Choice>,
    unit: &'static str,
    lines: Vec<Line>,
    may_keep: bool,
}

/// GET `/parasites/products/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<ItemId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/parasites/products/{id}`
pub async fn choose(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<ItemId>,
    form: Form<ControlForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&format!("/parasites/products/{id}")),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: ItemId, form: &Form<ControlForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let product = db::product(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let chosen = form.read(&me.shop, Named::new(id, product.name))?;
    let confirmed = ConfirmedMethod::in_force(&db::methods(&mut pen).await?);
    pen.append(entry::choose(chosen, &product.species, &confirmed)?).await?;
    pen.commit().await
}

/// What may be chosen: what is from memory says so until it is confirmed.
fn controls(confirmed: &[Method]) -> Vec<Choice> {
    let choice = |control: Control| {
        let note = match control {
            Control::Published(method) if confirmed.contains(&method) => "confirmed by the shop",
            Control::Published(method) if method.mark() == Mark::Memory => method.mark().words(),
            Control::Published(_) | Control::Programme | Control::NotAsked => "",
        };
        Choice::new(control.key(), control.words()).note(note)
    };
    Control::all().map(choice).collect()
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: ItemId,
    form: Option<ControlForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let product = db::product(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let chosen = db::chosen(&mut conn, id).await?;
    let confirmed = ConfirmedMethod::in_force(&db::methods(&mut conn).await?);
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let species = if product.species.is_empty() { "not said" } else { product.species.as_str() };
    let mut facts = vec![Fact::new("Of", species)];
    if let Some(chosen) = &chosen {
        let control = chosen.control.parse::<Control>().ok();
        let words = control.map_or_else(|| chosen.control.clone(), |control| control.words().to_owned());
        facts.push(Fact::new("Control", words));
        for (name, value) in [("Document", &chosen.document), ("Reason", &chosen.reason)] {
            if !value.is_empty() {
                facts.push(Fact::new(name, value.clone()));
            }
        }
        if let Some(Control::Published(method)) = control {
            facts.push(Fact::new("Published in", format!("{}; {}", method.source(), method.mark().words())));
        }
    }
    let page = ProductPage {
        frame: Frame::new(app, me, Area::Checks),
        id,
        name: product.name,
        caution: CAUTION,
        facts,
        form_id: fresh_id(),
        form: form
            .unwrap_or_else(|| chosen.as_ref().map(|one| ControlForm::of(&me.shop, one)).unwrap_or_default()),
        errors,
        controls: controls(&confirmed),
        states: Stated::ALL.iter().map(|one| Choice::new(one.word(), one.words())).collect(),
        unit: length_unit(&me.shop).symbol(),
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
