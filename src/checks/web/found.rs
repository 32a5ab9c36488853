//! `/checks/deviations/new`: a deviation written down by hand, by who saw it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::OffsetDateTime;
use uuid::Uuid;

use super::super::db;
use crate::book::Pen;
use crate::deviations::entry::DeviationFound;
use crate::deviations::{On, Opened};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{DeviationId, PlaceId};
use crate::measure::LotCode;
use crate::rights::needs::Check;
use crate::setup;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct FoundForm {
    /// What it was found on: a code, or a place.
    code: String,
    place: String,
    what: String,
    /// "yes" or "no".
    foreseen: String,
    when: String,
}

/// What it was found on, before the book is asked.
enum Named {
    Code(LotCode),
    Place(PlaceId),
}

struct Typed {
    named: Named,
    what: String,
    unforeseen: bool,
    when: Option<OffsetDateTime>,
}

impl FoundForm {
    fn read(&self, me: &Me) -> Result<Typed, Errors> {
        let mut read = Reader::new(&me.shop);
        let named = match (self.code.trim().is_empty(), self.place.trim().is_empty()) {
            (false, true) => read.take("code", LotCode::parse(&self.code)).map(Named::Code),
            (true, false) => read.value("place", &self.place, "Choose a place.").map(Named::Place),
            _ => {
                read.refuse(
                    "code",
                    "Give the code of the lot or batch, or choose the place: one of the two.",
                );
                None
            }
        };
        let what = read.line("what", &self.what, "Say what was found.");
        let unforeseen = match self.foreseen.as_str() {
            "yes" => Some(false),
            "no" => Some(true),
            _ => {
                read.refuse("foreseen", "Say whether a plan foresees it.");
                None
            }
        };
        let when = read.when(&self.when);
        read.finish(|| Some(Typed { named: named?, what: what?, unforeseen: unforeseen?, when: when? }))
    }
}

#[derive(Template)]
#[template(path = "checks/found.html")]
struct FoundPage {
    frame: Frame,
    form_id: Uuid,
    form: FoundForm,
    errors: Errors,
    places: Vec<Choice>,
    answers: Vec<Choice>,
}

/// GET `/checks/deviations/new`; a link may bring the code or the place along.
pub async fn page(
    State(app): State<App>,
    me: Signer<Check>,
    Query(form): Query<FoundForm>,
) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/checks/deviations/new`
pub async fn write(State(app): State<App>, me: Signer<Check>, form: Form<FoundForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(deviation) => page::goto(&deviation.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<FoundForm>) -> Result<DeviationId> {
    let typed = form.read(me)?;
    let deviation = DeviationId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else {
        return Ok(deviation);
    };
    let on = on(&mut pen, &typed.named).await?;
    let found = db::subject(&mut pen, on).await?;
    let found = found.ok_or_else(|| Refusal::at("code", "There is no such lot, batch or place."))?;
    let at = pen.next().happened_at;
    let lots = match on {
        On::Batch(batch) => db::lots_of_batch(&mut pen, batch).await?,
        On::Lot(lot) => db::lots_of_lot(&mut pen, lot, at).await?,
        On::Place(place) => db::lots_of_place(&mut pen, place, at).await?,
    };
    let opened = Opened { deviation, what: typed.what, lots };
    pen.append(DeviationFound { subject: found.subject, unforeseen: typed.unforeseen, opened }).await?;
    pen.commit().await?;
    Ok(deviation)
}

async fn on(pen: &mut Pen, named: &Named) -> Result<On> {
    match named {
        Named::Place(place) => Ok(On::Place(*place)),
        Named::Code(code) => {
            let found = db::find(pen, code).await?;
            Ok(found
                .ok_or_else(|| Refusal::at("code", format!("No lot and no batch has the code {code}.")))?)
        }
    }
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: FoundForm, errors: Errors) -> Result<Response> {
    let places = setup::places(&mut *app.db().await?).await?;
    let page = FoundPage {
        frame: Frame::new(app, me, Area::Checks),
        form_id: fresh_id(),
        form,
        errors,
        places: places.into_iter().map(|place| Choice::new(place.id, place.name)).collect(),
        answers: vec![
            Choice::new("yes", "yes").note("cause, control, prevention, product: 9 CFR 417.3(a)"),
            Choice::new("no", "no").note("set apart, review, act, reassess: 9 CFR 417.3(b)"),
        ],
    };
    page::show(status, &page)
}
