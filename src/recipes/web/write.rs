//! `/recipes/new` and `/recipes/{id}/versions`: writing a recipe, or its next version from the last one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::reckon::{self, Drawn};
use super::rows::{LineRow, StepRow};
use crate::error::{Error, Errors, Result};
use crate::ids::{ItemId, RecipeId};
use crate::measure::Percent;
use crate::recipes::db::{self, Recipe};
use crate::recipes::entry::{self, RecipeWritten};
use crate::recipes::{Per, RecipeKind, Role, Stage};
use crate::rights::needs::Cure;
use crate::setup::{self, Item};
use crate::standards::limits::{Accelerator, Product, Way};
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct RecipeForm {
    pub(super) name: String,
    pub(super) kind: String,
    pub(super) product: String,
    pub(super) brine: String,
    pub(super) target_loss: String,
    pub(super) weigh_every: String,
    pub(super) note: String,
    pub(super) way: String,
    pub(super) pump: String,
    pub(super) pick_up: String,
    pub(super) falls_under: String,
    pub(super) moisture: String,
    /// The version that this one was written from; empty for the first.
    pub(super) last: String,
    /// Sent by the button that adds rows.
    pub(super) more: String,
    /// Sent by the button that reckons without signing.
    pub(super) reckon: String,
    // One of each a line or a step, in the order of the rows.
    pub(super) role: Vec<String>,
    pub(super) item: Vec<String>,
    pub(super) percent: Vec<String>,
    pub(super) per: Vec<String>,
    pub(super) tolerance: Vec<String>,
    pub(super) salt: Vec<String>,
    pub(super) sugar: Vec<String>,
    pub(super) accelerator: Vec<String>,
    pub(super) accelerator_share: Vec<String>,
    pub(super) stage: Vec<String>,
    pub(super) lasts: Vec<String>,
    pub(super) lasts_in: Vec<String>,
    pub(super) step_note: Vec<String>,
}

impl RecipeForm {
    fn of(recipe: &Recipe) -> Self {
        let optional =
            |percent: Option<crate::measure::Percent>| percent.map(|one| one.to_string()).unwrap_or_default();
        Self {
            name: recipe.name.clone(),
            kind: recipe.kind.word().to_owned(),
            product: recipe.product.id.to_string(),
            brine: optional(recipe.brine),
            target_loss: optional(recipe.target_loss),
            weigh_every: recipe.weigh_every.map(|days| days.to_string()).unwrap_or_default(),
            note: recipe.note.clone(),
            way: recipe.way.map(|way| way.word().to_owned()).unwrap_or_default(),
            pump: optional(recipe.pump),
            pick_up: optional(recipe.pick_up),
            falls_under: recipe.falls_under.map(|one| one.word().to_owned()).unwrap_or_default(),
            moisture: optional(recipe.moisture),
            last: recipe.version.to_string(),
            ..Self::default()
        }
        .with_rows(&recipe.lines, &recipe.steps)
    }

    fn read(&self, shop: &Shop, id: RecipeId, items: &[Item]) -> Result<RecipeWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the recipe a name.");
        let kind = read.value::<RecipeKind>("kind", &self.kind, "Choose the kind.");
        let product = self.product.parse().ok();
        let product = product.and_then(|id: ItemId| items.iter().find(|item| item.id == id));
        if product.is_none() {
            read.refuse("product", "Choose what it makes.");
        }
        let brine = read.maybe_percent("brine", &self.brine);
        let target_loss = read.maybe_percent("target_loss", &self.target_loss);
        let weigh_every = match self.weigh_every.trim() {
            "" => Some(None),
            text => read.count("weigh_every", text, 1, 366).map(Some),
        };
        let note = read.note_or_empty("note", &self.note);
        let scope = self.scope(&mut read);
        let lines = self.lines(&mut read, items);
        let steps = self.steps(&mut read);
        let last = read.maybe::<u16>("", &self.last, "Open the page again.");
        read.finish(|| {
            Some(RecipeWritten {
                recipe: id,
                name: name?,
                version: last?.unwrap_or(0).checked_add(1)?,
                kind: kind?,
                product: product?.named(),
                brine: brine?,
                target_loss: target_loss?,
                weigh_every: weigh_every?,
                note: note?,
                way: scope.as_ref()?.way,
                pump: scope.as_ref()?.pump,
                pick_up: scope.as_ref()?.pick_up,
                falls_under: scope.as_ref()?.falls_under,
                moisture: scope.as_ref()?.moisture,
                lines: lines?,
                steps: steps?,
            })
        })
    }
}

/// What a limit's scope needs beyond the kind.
pub(super) struct Scope {
    pub way: Option<Way>,
    pub pump: Option<Percent>,
    pub pick_up: Option<Percent>,
    pub falls_under: Option<Product>,
    pub moisture: Option<Percent>,
}

impl RecipeForm {
    pub(super) fn scope(&self, read: &mut Reader<'_>) -> Option<Scope> {
        let way = read.maybe("way", &self.way, "Choose how the cure meets the meat.");
        let pump = read.maybe_percent("pump", &self.pump);
        let pick_up = read.maybe_percent("pick_up", &self.pick_up);
        let falls_under = read.maybe("falls_under", &self.falls_under, "Choose what it falls under.");
        let moisture = read.maybe_percent("moisture", &self.moisture);
        Some(Scope {
            way: way?,
            pump: pump?,
            pick_up: pick_up?,
            falls_under: falls_under?,
            moisture: moisture?,
        })
    }
}

#[derive(Template)]
#[template(path = "recipes/write.html")]
struct WritePage {
    frame: Frame,
    form_id: Uuid,
    form: RecipeForm,
    errors: Errors,
    /// For rows, whose problems stand above them all.
    none: Errors,
    action: String,
    back: String,
    title: String,
    kinds: Vec<Choice>,
    products: Vec<Choice>,
    lines: Vec<LineRow>,
    steps: Vec<StepRow>,
    roles: Vec<Choice>,
    items: Vec<Choice>,
    pers: Vec<Choice>,
    stages: Vec<Choice>,
    lasts_in: Vec<Choice>,
    ways: Vec<Choice>,
    falls: Vec<Choice>,
    accelerators: Vec<Choice>,
    /// What is over a limit, and the figures of what is typed, drawn.
    reckoned: Drawn,
}

/// GET `/recipes/new`
pub async fn blank(State(app): State<App>, me: Signer<Cure>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, RecipeForm::default(), Errors::default()).await
}

/// POST `/recipes/new`
pub async fn first(State(app): State<App>, me: Signer<Cure>, form: Form<RecipeForm>) -> Result<Response> {
    write(&app, &me, None, form).await
}

/// GET `/recipes/{id}/versions`
pub async fn from_last(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<RecipeId>,
) -> Result<Response> {
    let recipe = db::recipe(&mut *app.db().await?, id, None).await?.ok_or(Error::NotFound)?;
    ask(&app, &me, StatusCode::OK, Some(id), RecipeForm::of(&recipe), Errors::default()).await
}

/// POST `/recipes/{id}/versions`
pub async fn next(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<RecipeId>,
    form: Form<RecipeForm>,
) -> Result<Response> {
    write(&app, &me, Some(id), form).await
}

async fn write(app: &App, me: &Me, id: Option<RecipeId>, form: Form<RecipeForm>) -> Result<Response> {
    if !form.more.is_empty() || !form.reckon.is_empty() {
        return ask(app, me, StatusCode::OK, id, form.fields, Errors::default()).await;
    }
    match sign(app, me, id, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, id, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: Option<RecipeId>, form: &Form<RecipeForm>) -> Result<RecipeId> {
    let recipe = match id {
        Some(id) => id,
        None => RecipeId::made_by(form.once.id()?),
    };
    let items = setup::items(&mut *app.db().await?, &[]).await?;
    let written = form.read(&me.shop, recipe, &items)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(recipe) };
    let last = db::last_version(&mut pen, recipe).await?;
    if id.is_some() && last.is_none() {
        return Err(Error::NotFound);
    }
    let written = entry::write(written, last)?;
    pen.append(written).await?;
    pen.commit().await?;
    Ok(recipe)
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: Option<RecipeId>,
    form: RecipeForm,
    errors: Errors,
) -> Result<Response> {
    let items = setup::items(&mut *app.db().await?, &[]).await?;
    let reckoned = reckon::draw(app, me, &form, &items).await?;
    let name = if form.name.trim().is_empty() { "the recipe" } else { form.name.trim() };
    let page = WritePage {
        frame: Frame::new(app, me, Area::Recipes),
        form_id: fresh_id(),
        errors,
        none: Errors::default(),
        action: id.map_or_else(|| "/recipes/new".into(), |id| format!("{}/versions", id.path())),
        back: id.map_or_else(|| "/recipes".into(), |id| id.path()),
        title: if id.is_some() { format!("Next version of {name}") } else { "New recipe".into() },
        kinds: RecipeKind::ALL.iter().map(|kind| Choice::new(kind.word(), kind.word())).collect(),
        products: choices(items.iter().filter(|item| makes(item))),
        lines: form.line_rows(!form.more.is_empty()),
        steps: form.step_rows(!form.more.is_empty()),
        roles: Role::ALL.iter().map(|role| Choice::new(role.word(), role.word())).collect(),
        items: choices(items.iter().filter(|item| goes_in(item))),
        pers: Per::ALL.iter().map(|per| Choice::new(per.word(), per.words())).collect(),
        stages: Stage::PLANNED.iter().map(|stage| Choice::new(stage.word(), stage.word())).collect(),
        ways: Way::ALL
            .iter()
            .filter(|way| way.has_pickle())
            .map(|way| Choice::new(way.word(), way.word()))
            .collect(),
        falls: Product::ALL.iter().skip(1).map(|one| Choice::new(one.word(), one.word())).collect(),
        accelerators: Accelerator::ALL.iter().map(|one| Choice::new(one.word(), one.word())).collect(),
        reckoned,
        lasts_in: ["days", "hours"].map(|word| Choice::new(word, word)).to_vec(),
        form,
    };
    page::show(status, &page)
}

/// Things that a recipe makes.
fn makes(item: &Item) -> bool {
    use crate::book::Form::{Mix, Pack, Piece};
    matches!(item.form, Piece | Pack | Mix)
}

/// Things that go into a recipe.
fn goes_in(item: &Item) -> bool {
    use crate::book::Form::{Bone, Carcass, Pack, Piece, Side};
    !matches!(item.form, Carcass | Side | Bone | Piece | Pack)
}

fn choices<'a>(items: impl Iterator<Item = &'a Item>) -> Vec<Choice> {
    items.map(|item| Choice::new(item.id, item.name.clone())).collect()
}
