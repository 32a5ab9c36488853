//! `/plan/{id}/description`: what a plan describes, its use, materials, training, papers, records, and what it covers.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::{drafted, redraft};
use crate::error::{Error, Errors, Result};
use crate::ids::PlanId;
use crate::plan::db;
use crate::plan::entry::{Document, Sort};
use crate::recipes::RecipeKind;
use crate::rights::needs::Keep;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct DescribeForm {
    name: String,
    describes: String,
    intended_use: String,
    materials: String,
    training: String,
    papers: String,
    records: String,
    covers: Vec<String>,
    sanitation: String,
}

impl DescribeForm {
    fn of(document: &Document) -> Self {
        Self {
            name: document.name.clone(),
            describes: document.describes.clone(),
            intended_use: document.intended_use.clone(),
            materials: document.materials.clone(),
            training: document.training.clone(),
            papers: document.papers.clone(),
            records: document.records.clone(),
            covers: document.covers.iter().map(|kind| kind.word().to_owned()).collect(),
            sanitation: if document.sanitation { "yes".into() } else { String::new() },
        }
    }

    fn read(&self, me: &Me, before: &Document) -> Result<Document, Errors> {
        let mut read = Reader::new(&me.shop);
        let name = read.line("name", &self.name, "Give it a name.");
        let describes = read.note("describes", &self.describes, "Say what it describes.");
        let intended_use = read.note_or_empty("intended_use", &self.intended_use);
        let materials = read.note_or_empty("materials", &self.materials);
        let training = read.note_or_empty("training", &self.training);
        let papers = read.note_or_empty("papers", &self.papers);
        let records = read.note_or_empty("records", &self.records);
        let mut covers: Vec<RecipeKind> = Vec::new();
        for word in &self.covers {
            covers.extend(read.value::<RecipeKind>("covers", word, "Choose from the list."));
        }
        read.finish(|| {
            Some(Document {
                name: name?,
                describes: describes?,
                intended_use: intended_use?,
                materials: materials?,
                training: training?,
                papers: papers?,
                records: records?,
                covers,
                sanitation: self.sanitation == "yes" && before.sort == Sort::Programme,
                ..before.clone()
            })
        })
    }
}

#[derive(Template)]
#[template(path = "plan/describe.html")]
struct DescribePage {
    frame: Frame,
    id: PlanId,
    form_id: Uuid,
    form: DescribeForm,
    errors: Errors,
    plan: bool,
    kinds: Vec<Choice>,
}

/// GET `/plan/{id}/description`
pub async fn page(State(app): State<App>, me: Signer<Keep>, Path(id): Path<PlanId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/plan/{id}/description`
pub async fn write(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PlanId>,
    form: Form<DescribeForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: PlanId, form: &Form<DescribeForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let before = drafted(&mut pen, id).await?;
    let document = form.read(me, &before.document)?;
    redraft(&mut pen, before, document, "its description".into()).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: PlanId,
    form: Option<DescribeForm>,
    errors: Errors,
) -> Result<Response> {
    let plan = db::one(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let page = DescribePage {
        frame: Frame::new(app, me, Area::Checks),
        id,
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| DescribeForm::of(&plan.document)),
        errors,
        plan: plan.document.sort == Sort::Plan,
        kinds: RecipeKind::ALL.iter().map(|kind| Choice::new(kind.word(), kind.word())).collect(),
    };
    page::show(status, &page)
}
