//! `/checks/limits`: the limits in force, and writing one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, Applies, LimitWritten, Quantity, Value};
use super::{Sheet, tabs};
use crate::book::{Form as LotForm, Seq};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{LimitId, Named, PlaceId};
use crate::recipes::{RecipeKind, Stage};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::setup::{self, entry::PlaceKind};
use crate::web::parts::{Choice, Tab};
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct LimitForm {
    pub name: String,
    pub quantity: String,
    /// The sort and the word of it: "kind:cooler", "place:" and an id.
    pub applies: String,
    pub least: String,
    pub most: String,
    pub source: String,
    pub retired: String,
}

/// What the form says it holds for, before the book is asked for the name of a place.
enum Chosen {
    Place(PlaceId),
    Known(Applies),
}

impl std::str::FromStr for Chosen {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let (sort, word) = text.split_once(':').ok_or(())?;
        Ok(Self::Known(match sort {
            "place" => return word.parse().map(Self::Place).map_err(drop),
            "kind" => Applies::Kind(word.parse()?),
            "form" => Applies::Form(word.parse()?),
            "stage" => Applies::Stage(word.parse()?),
            "end" => Applies::End(word.parse()?),
            _ => return Err(()),
        }))
    }
}

struct Typed {
    name: String,
    quantity: Quantity,
    applies: Chosen,
    least: Option<Value>,
    most: Option<Value>,
    source: String,
    retired: bool,
}

impl LimitForm {
    /// The form as it shows a limit that is written.
    pub fn of(me: &Me, limit: &LimitWritten) -> Self {
        let figure = |end: Option<Value>| end.map(|value| value.figure(me.shop.system)).unwrap_or_default();
        Self {
            name: limit.name.clone(),
            quantity: limit.quantity.word().into(),
            applies: key(&limit.applies),
            least: figure(limit.least),
            most: figure(limit.most),
            source: limit.source.clone(),
            retired: if limit.retired { "yes".into() } else { String::new() },
        }
    }

    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the limit a name.");
        let quantity = read.value("quantity", &self.quantity, "Choose what is measured.");
        let applies = read.value("applies", &self.applies, "Choose what it holds for.");
        let least = end(&mut read, "least", quantity, &self.least);
        let most = end(&mut read, "most", quantity, &self.most);
        let source = read.note(
            "source",
            &self.source,
            "Say where the figure comes from, if only: the shop's own plan.",
        );
        let retired = self.retired == "yes";
        read.finish(|| {
            let (name, quantity, applies) = (name?, quantity?, applies?);
            Some(Typed { name, quantity, applies, least: least?, most: most?, source: source?, retired })
        })
    }

    /// The limit that it writes, by the rules.
    pub async fn write(
        &self,
        me: &Me,
        conn: &mut PgConnection,
        limit: LimitId,
        (only, under): (Vec<RecipeKind>, Option<Seq>),
    ) -> Result<LimitWritten> {
        let Typed { name, quantity, applies, least, most, source, retired } = self.read(&me.shop)?;
        let applies = match applies {
            Chosen::Known(applies) => applies,
            Chosen::Place(place) => {
                let place = setup::place(conn, place).await?;
                Applies::Place(
                    place.ok_or_else(|| Refusal::at("applies", "There is no such place."))?.named(),
                )
            }
        };
        let written =
            LimitWritten { limit, name, quantity, applies, least, most, source, only, under, retired };
        Ok(entry::write_limit(written)?)
    }
}

/// One end of a limit; it may stay open.
#[allow(
    clippy::option_option,
    reason = "unreadable, left open and given are three answers, as in the reader"
)]
fn end(
    read: &mut Reader,
    field: &'static str,
    quantity: Option<Quantity>,
    text: &str,
) -> Option<Option<Value>> {
    if text.trim().is_empty() {
        return Some(None);
    }
    super::value(read, field, quantity?, text).map(Some)
}

/// What a limit holds for, as a form sends it.
pub fn key(applies: &Applies) -> String {
    match applies {
        Applies::Place(place) => format!("place:{}", place.id),
        other => format!("{}:{}", other.sort(), other.word()),
    }
}

/// What a form says it holds for. `None` where it says nothing that there is.
pub fn of_key(text: &str, places: &[Named<PlaceId>]) -> Option<Applies> {
    match text.parse::<Chosen>().ok()? {
        Chosen::Known(applies) => Some(applies),
        Chosen::Place(id) => places.iter().find(|place| place.id == id).cloned().map(Applies::Place),
    }
}

/// All that a limit can hold for.
pub async fn holds_for(conn: &mut PgConnection) -> Result<Vec<Choice>> {
    let places = setup::places(conn).await?.into_iter().map(|place| Applies::Place(place.named()));
    let stages = || Stage::ALL.iter().copied().filter(|stage| *stage != Stage::Released);
    let all = PlaceKind::ALL
        .into_iter()
        .map(Applies::Kind)
        .chain(places)
        .chain(stages().map(Applies::Stage))
        .chain(stages().map(Applies::End))
        .chain(LotForm::ALL.into_iter().map(Applies::Form));
    Ok(all.map(|applies| Choice::new(key(&applies), applies.text())).collect())
}

/// The quantities with their units, to choose from.
pub fn quantities(me: &Me) -> Vec<Choice> {
    let choice = |q: Quantity| Choice::new(q.word(), q.name()).note(q.unit(me.shop.system));
    Quantity::ALL.into_iter().map(choice).collect()
}

struct Row {
    href: String,
    name: String,
    quantity: &'static str,
    band: String,
    holds: String,
    source: String,
    retired: bool,
}

#[derive(Template)]
#[template(path = "checks/limits.html")]
struct LimitsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    form_id: Uuid,
    usual_form_id: Uuid,
    form: LimitForm,
    errors: Errors,
    rows: Vec<Row>,
    quantities: Vec<Choice>,
    holds_for: Vec<Choice>,
    may_keep: bool,
}

/// GET `/checks/limits`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, LimitForm::default(), Errors::default()).await
}

/// POST `/checks/limits`
pub async fn write(State(app): State<App>, me: Signer<Keep>, form: Form<LimitForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/checks/limits"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<LimitForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let id = LimitId::made_by(pen.next().id);
    let limit = form.write(me, &mut pen, id, (vec![], None)).await?;
    pen.append(limit).await?;
    pen.commit().await
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Nothing {}

/// POST `/checks/limits/usual`: the limits that a shop can start with, each as a line of its own.
pub async fn take_usual(State(app): State<App>, me: Signer<Keep>, form: Form<Nothing>) -> Result<Response> {
    match sign_usual(&app, &me, &form).await {
        Ok(()) => page::goto("/checks/limits"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, LimitForm::default(), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_usual(app: &App, me: &Me, form: &Form<Nothing>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    if db::any_limit(&mut pen).await? {
        return Err(Refusal::of("There are limits already. Change those that are not yours yet.").into());
    }
    for usual in entry::usual(me.shop.system) {
        let Some(quantity) = usual.least.or(usual.most).map(Value::quantity) else { continue };
        let written = LimitWritten {
            limit: LimitId::made_by(pen.next().id),
            name: usual.name.into(),
            quantity,
            applies: usual.applies,
            least: usual.least,
            most: usual.most,
            source: usual.source.into(),
            only: vec![],
            under: None,
            retired: false,
        };
        pen.append(entry::write_limit(written)?).await?;
    }
    pen.commit().await
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: LimitForm, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let rows = db::limits(&mut conn).await?.into_iter().map(|limit| Row {
        href: limit.limit.path(),
        quantity: limit.quantity.name(),
        band: limit.band(me.shop.system),
        holds: limit.held_for(),
        name: limit.name,
        source: limit.source,
        retired: limit.retired,
    });
    let page = LimitsPage {
        frame: Frame::new(app, me, Area::Checks),
        tabs: tabs(&mut conn, Sheet::Limits).await?,
        form_id: fresh_id(),
        usual_form_id: fresh_id(),
        form,
        errors,
        rows: rows.collect(),
        quantities: quantities(me),
        holds_for: holds_for(&mut conn).await?,
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
