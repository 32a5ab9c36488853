//! `/batches/new`: beginning a batch of a recipe version, for some meat, somewhere.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use crate::batches::entry::{self, BatchBegun};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, LotId, PlaceId, RecipeId};
use crate::measure::Grams;
use crate::recipes;
use crate::rights::needs::Cure;
use crate::setup;
use crate::setup::entry::PlaceKind;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct BeginForm {
    /// A recipe's id, and behind a slash its version; the last one where there is none.
    recipe: String,
    version: String,
    meat: String,
    meat_unit: String,
    place: String,
    when: String,
}

struct Typed {
    recipe: RecipeId,
    version: Option<u16>,
    meat: Grams,
    place: PlaceId,
    when: Option<OffsetDateTime>,
}

impl BeginForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let (recipe, version) = self.recipe.split_once('/').unwrap_or((&self.recipe, &self.version));
        let recipe = read.value("recipe", recipe, "Choose the recipe.");
        let version = read.maybe("recipe", version, "Choose the recipe.");
        let meat = read.weight("meat", &self.meat, &self.meat_unit);
        let place = read.value("place", &self.place, "Choose where it is made.");
        let when = read.when(&self.when);
        read.finish(|| {
            Some(Typed { recipe: recipe?, version: version?, meat: meat?, place: place?, when: when? })
        })
    }

    /// The recipe as the list of them names it.
    fn chosen(&self, last: impl Fn(RecipeId) -> Option<i32>) -> String {
        let id = self.recipe.parse::<RecipeId>();
        match (id, self.version.trim()) {
            (Ok(id), "") => last(id).map_or_else(String::new, |version| format!("{id}/{version}")),
            (Ok(id), version) => format!("{id}/{version}"),
            (Err(_), _) => self.recipe.clone(),
        }
    }
}

#[derive(Template)]
#[template(path = "batches/begin.html")]
struct BeginPage {
    frame: Frame,
    form_id: Uuid,
    form: BeginForm,
    errors: Errors,
    recipes: Vec<Choice>,
    places: Vec<Choice>,
}

/// GET `/batches/new`
pub async fn page(
    State(app): State<App>,
    me: Signer<Cure>,
    Query(form): Query<BeginForm>,
) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/batches/new`
pub async fn begin(State(app): State<App>, me: Signer<Cure>, form: Form<BeginForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<BeginForm>) -> Result<BatchId> {
    let typed = form.read(&me.shop)?;
    let batch = BatchId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(batch) };
    let recipe = recipes::recipe(&mut pen, typed.recipe, typed.version).await?;
    let recipe = recipe.ok_or_else(|| Refusal::at("recipe", "There is no such recipe."))?;
    let place = setup::place(&mut pen, typed.place).await?;
    let place = place.ok_or_else(|| Refusal::at("place", "There is no such place."))?;
    let at = pen.next();
    let code = pen.next_code(me.shop.date(at.happened_at)).await?;
    let begun = BatchBegun {
        batch,
        code,
        mix: LotId::nth(at.id, 0),
        recipe: recipe.named(),
        version: recipe.version,
        kind: recipe.kind,
        product: recipe.product.clone(),
        meat_target: typed.meat,
        place: place.named(),
    };
    pen.append(entry::begin(begun, recipe.retired)?).await?;
    pen.commit().await?;
    Ok(batch)
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    mut form: BeginForm,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let listed = recipes::listed(&mut conn).await?;
    let places = setup::places(&mut conn).await?;
    form.recipe = form.chosen(|id| listed.iter().find(|recipe| recipe.id == id).map(|recipe| recipe.version));
    if form.meat_unit.is_empty() {
        me.shop.weight_unit().symbol().clone_into(&mut form.meat_unit);
    }
    if form.place.is_empty() && errors.is_empty() {
        let usual = places.iter().find(|place| place.kind == PlaceKind::CuringFridge);
        form.place = usual.or(places.first()).map(|place| place.id.to_string()).unwrap_or_default();
    }
    let mut choices: Vec<Choice> = listed
        .iter()
        .filter(|recipe| !recipe.retired)
        .map(|recipe| {
            Choice::new(format!("{}/{}", recipe.id, recipe.version), recipe.name.clone())
                .note(format!("version {}", recipe.version))
        })
        .collect();
    if let Some(older) = older(&form, &choices, &listed) {
        choices.insert(0, older);
    }
    let page = BeginPage {
        frame: Frame::new(app, me, Area::Batches),
        form_id: fresh_id(),
        form,
        errors,
        recipes: choices,
        places: places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect(),
    };
    page::show(status, &page)
}

/// The choice of a version that the list does not offer, where the way came from it or it was typed.
fn older(form: &BeginForm, choices: &[Choice], listed: &[recipes::Listed]) -> Option<Choice> {
    if choices.iter().any(|choice| choice.value == form.recipe) {
        return None;
    }
    let (id, version) = form.recipe.split_once('/')?;
    let id = id.parse::<RecipeId>().ok()?;
    let version = version.parse::<u16>().ok()?;
    let recipe = listed.iter().find(|recipe| recipe.id == id)?;
    let why = if recipe.retired { "laid aside" } else { "not the last one" };
    Some(Choice::new(&form.recipe, recipe.name.clone()).note(format!("version {version}, {why}")))
}
