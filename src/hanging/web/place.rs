//! `/hanging/places/{id}`: what hangs in a place, how far along each piece is, the readings of the place, and moving what is
//! ticked.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::hung::Hung;
use super::climate::{self, Air, Span};
use super::rows::{self, Row};
use super::weigh;
use crate::error::{Error, Errors, Result};
use crate::ids::PlaceId;
use crate::rights::Right;
use crate::web::parts::{Choice, Fact, Notice};
use crate::web::{App, Area, Frame, Me, Path, Query, fresh_id, page};
use crate::{drying, loggers, setup};

/// How many other lots the page lists.
const LIES: i64 = 200;

/// A lot that lies here without being a hanging piece.
struct Other {
    href: String,
    code: String,
    name: String,
    form: &'static str,
    place: String,
    weight: String,
    held: bool,
}

#[derive(Template)]
#[template(path = "hanging/place.html")]
struct PlacePage {
    frame: Frame,
    form_id: Uuid,
    errors: Errors,
    name: String,
    said: String,
    within: Option<Fact>,
    inside: Vec<Fact>,
    rows: Vec<Row>,
    others: Vec<Other>,
    air: Air,
    warnings: Vec<Notice>,
    import: String,
    may_check: bool,
    places: Vec<Choice>,
    to: String,
    weigh: String,
    record: String,
    may_hang: bool,
}

/// What a link asks for: how far back the charts go.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    span: String,
}

/// GET `/hanging/places/{id}`
pub async fn page(
    With(app): With<App>,
    me: Me,
    Path(id): Path<PlaceId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let places = setup::places(&mut conn).await?;
    let place = places.iter().find(|place| place.id == id).ok_or(Error::NotFound)?;
    let pieces = db::hanging_in(&mut conn, id).await?;
    let others = db::lies(&mut conn, id, LIES).await?;
    let air = climate::air(&me, &mut conn, id, Span::of(&asked.span)).await?;
    let lots: Vec<_> = pieces.iter().map(|piece| piece.lot).collect();
    let warnings = drying::stalls(&mut conn, &lots).await?;
    let all: Vec<&Hung> = pieces.iter().collect();
    let fact = |place: &setup::Place| Fact::new(place.kind.word(), place.name.clone()).link(place.id.path());
    let page = PlacePage {
        frame: Frame::new(&app, &me, Area::Hanging),
        form_id: fresh_id(),
        errors: Errors::default(),
        name: place.name.clone(),
        said: format!(
            "{}, {}, {} due on the scale",
            place.kind.word(),
            rows::count(all.len()),
            rows::due(&me, &all)
        ),
        within: places.iter().find(|other| place.within == Some(other.id)).map(fact),
        inside: places.iter().filter(|other| other.within == Some(id)).map(fact).collect(),
        rows: pieces.iter().map(|piece| rows::row(&me, piece)).collect(),
        others: others
            .into_iter()
            .map(|lot| Other {
                href: lot.lot.path(),
                code: lot.code.to_string(),
                name: lot.item_name,
                form: lot.form.word(),
                place: lot.place_name,
                weight: me.shop.weight(lot.grams),
                held: lot.held.is_some(),
            })
            .collect(),
        air,
        warnings: warnings.into_iter().map(|stall| Notice::new("late", stall.text)).collect(),
        import: loggers::import_path(id),
        may_check: me.may(Right::Check),
        places: places
            .iter()
            .filter(|other| other.id != id)
            .map(|other| Choice::new(other.id, other.name.clone()))
            .collect(),
        to: String::new(),
        weigh: weigh::path("", &id.to_string()),
        record: format!("/checks/record?place={id}"),
        may_hang: me.may(Right::Hang),
    };
    page::show(StatusCode::OK, &page)
}
