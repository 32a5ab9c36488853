//! `/setup/labels/{id}`: one size, changed or no longer used.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db;
use super::sizes::{SizeForm, paper_choices, unit_choices, use_choices};
use crate::error::{Error, Errors, Result};
use crate::ids::LabelSizeId;
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, fresh_id, page};

#[derive(Template)]
#[template(path = "labels/size.html")]
struct SizePage {
    frame: Frame,
    id: LabelSizeId,
    name: String,
    measures: String,
    form_id: Uuid,
    form: SizeForm,
    errors: Errors,
    units: Vec<Choice>,
    uses: Vec<Choice>,
    papers: Vec<Choice>,
    may: bool,
}

/// GET `/setup/labels/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<LabelSizeId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/setup/labels/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<LabelSizeId>,
    form: Form<SizeForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto("/setup/labels"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: LabelSizeId, form: &Form<SizeForm>) -> Result<()> {
    db::size(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let written = form.read(id, &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(written).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: LabelSizeId,
    form: Option<SizeForm>,
    errors: Errors,
) -> Result<Response> {
    let size = db::size(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let page = SizePage {
        frame: Frame::new(app, me, Area::Setup),
        id,
        measures: size.measures(),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| SizeForm::of(&size)),
        name: size.name,
        errors,
        units: unit_choices(),
        uses: use_choices(),
        papers: paper_choices(),
        may: me.may(Right::Keep),
    };
    page::show(status, &page)
}
