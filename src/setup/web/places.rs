//! `/setup/places`: where lots lie and hang.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db::{self, Place};
use super::in_use;
use crate::error::Result;
use crate::rights::Right;
use crate::web::parts::State as Mark;
use crate::web::{App, Area, Frame, Me, page};

struct Row {
    href: String,
    name: String,
    kind: &'static str,
    within: String,
    read_every: String,
    note: String,
    state: Mark,
}

#[derive(Template)]
#[template(path = "setup/places.html")]
struct PlacesPage {
    frame: Frame,
    rows: Vec<Row>,
    may_keep: bool,
}

fn row(place: &Place, all: &[Place]) -> Row {
    let within = place.within.and_then(|id| all.iter().find(|other| other.id == id));
    Row {
        href: format!("/setup/places/{}", place.id),
        name: place.name.clone(),
        kind: place.kind.word(),
        within: within.map(|other| other.name.clone()).unwrap_or_default(),
        read_every: place.read_every.map(|hours| format!("every {hours}\u{a0}h")).unwrap_or_default(),
        note: place.note.clone(),
        state: in_use(place.retired),
    }
}

/// GET `/setup/places`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let all = db::all_places(&mut *app.db().await?).await?;
    let (gone, used): (Vec<&Place>, Vec<&Place>) = all.iter().partition(|place| place.retired);
    let rows = used.into_iter().chain(gone).map(|place| row(place, &all)).collect();
    let frame = Frame::new(&app, &me, Area::Setup);
    page::show(StatusCode::OK, &PlacesPage { frame, rows, may_keep: me.may(Right::Keep) })
}
