//! `/packet`: choosing what the inspector gets.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use time::{Date, Duration};

use super::show::{MadeRow, made_rows};
use crate::book;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, PlaceId};
use crate::measure::{LotCode, input_day, parse_day};
use crate::packet::db;
use crate::packet::entry::{Scope, span};
use crate::web::parts::Choice;
use crate::web::{App, Area, Frame, Me, Query, Reader, page};

/// How many batches and made packets the page offers.
const OFFERED: i64 = 60;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// "batch", "code", "place", "days"
    of: String,
    batch: String,
    code: String,
    place: String,
    from: String,
    to: String,
}

#[derive(Template)]
#[template(path = "packet/index.html")]
struct IndexPage {
    frame: Frame,
    form: Asked,
    /// What is wrong with each of the four forms.
    batch_errors: Errors,
    code_errors: Errors,
    place_errors: Errors,
    days_errors: Errors,
    batches: Vec<Choice>,
    places: Vec<Choice>,
    made: Vec<MadeRow>,
}

/// GET `/packet`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let today = me.today();
    let form =
        Asked { from: input_day(today - Duration::days(30)), to: input_day(today), ..Asked::default() };
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// GET `/packet/find?of=…`: to the packet that was chosen, or back with what is missing.
pub async fn find(State(app): State<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let mut conn = app.db().await?;
    match chosen(&mut conn, &me, &asked).await {
        Ok(scope) => page::goto(&scope.path()),
        Err(Error::Form(errors)) => {
            drop(conn);
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, asked, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn chosen(conn: &mut PgConnection, me: &Me, asked: &Asked) -> Result<Scope> {
    let mut read = Reader::new(&me.shop);
    match asked.of.as_str() {
        "batch" => {
            let batch = read.value::<BatchId>("batch", &asked.batch, "Choose a batch.");
            Ok(Scope::Batch(read.finish(|| batch)?))
        }
        "code" => {
            let code = read.take("code", LotCode::parse(&asked.code));
            let code = read.finish(|| code)?;
            let lot = book::db::lot_by_code(conn, &code).await?;
            let lot = lot.ok_or_else(|| Refusal::at("code", "No tag of this shop carries this code."))?;
            let batch = db::batch_of_mix(conn, lot.id).await?;
            Ok(batch.map_or(Scope::Lot(lot.id), Scope::Batch))
        }
        "place" => {
            let place = read.value::<PlaceId>("place", &asked.place, "Choose a place.");
            let days = days(&mut read, asked);
            let (place, (from, to)) = read.finish(|| Some((place?, days?)))?;
            Ok(Scope::Place(place, from, to))
        }
        "days" => {
            let days = days(&mut read, asked);
            let (from, to) = read.finish(|| days)?;
            Ok(Scope::Days(from, to))
        }
        _ => Err(Error::NotFound),
    }
}

fn days(read: &mut Reader, asked: &Asked) -> Option<(Date, Date)> {
    let from = read.take("from", parse_day(&asked.from));
    let to = read.take("to", parse_day(&asked.to));
    match span(from?, to?) {
        Ok(days) => Some(days),
        Err(refusal) => {
            read.refuse(refusal.field, refusal.message);
            None
        }
    }
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: Asked, errors: Errors) -> Result<Response> {
    let mut conn = app.db().await?;
    let batches = db::batches(&mut conn, None, OFFERED).await?;
    let places = db::places(&mut conn).await?;
    let made = db::made_of(&mut conn, None, OFFERED).await?;
    let of = |word: &str| if form.of == word { errors.clone() } else { Errors::default() };
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Packet),
        batch_errors: of("batch"),
        code_errors: of("code"),
        place_errors: of("place"),
        days_errors: of("days"),
        batches: batches
            .into_iter()
            .map(|batch| Choice::new(batch.id.to_string(), format!("{}, {}", batch.code, batch.product)))
            .collect(),
        places: places.into_iter().map(|(id, name)| Choice::new(id.to_string(), name)).collect(),
        made: made_rows(me, made),
        form,
    };
    page::show(status, &page)
}
