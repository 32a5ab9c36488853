//! `/hanging`: chambers and rails, how many pieces hang on each, the driest and the wettest, and what is due on the scale.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db;
use super::super::hung::Hung;
use super::rows::{count, due};
use crate::error::Result;
use crate::ids::PlaceId;
use crate::measure::Percent;
use crate::rights::Right;
use crate::setup::entry::PlaceKind;
use crate::setup::{self, Place};
use crate::web::parts::State;
use crate::web::{App, Area, Frame, Me, page};

/// A chamber, a cooler, a fridge, with what is inside it.
struct Room {
    name: String,
    href: String,
    said: String,
    tiles: Vec<Tile>,
}

/// One rail, or what hangs in the room itself.
struct Tile {
    href: String,
    name: String,
    figure: String,
    word: &'static str,
    span: String,
    due: Option<State>,
}

#[derive(Template)]
#[template(path = "hanging/index.html")]
struct IndexPage {
    frame: Frame,
    said: String,
    rooms: Vec<Room>,
    may_hang: bool,
    empty: bool,
}

/// GET `/hanging`
pub async fn page(With(app): With<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let pieces = db::hanging(&mut conn).await?;
    let places = setup::places(&mut conn).await?;
    let all: Vec<&Hung> = pieces.iter().collect();
    let said = format!("{} in the shop, {} due on the scale", count(all.len()), due(&me, &all));
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Hanging),
        said,
        rooms: rooms(&me, &places, &pieces),
        may_hang: me.may(Right::Hang),
        empty: pieces.is_empty(),
    };
    page::show(StatusCode::OK, &page)
}

/// The places that stand by themselves, each with what is inside it; those made for hanging are shown empty as well.
fn rooms(me: &Me, places: &[Place], pieces: &[Hung]) -> Vec<Room> {
    let in_place =
        |id: PlaceId| pieces.iter().filter(move |piece| piece.place == Some(id)).collect::<Vec<_>>();
    let known = |id: PlaceId| places.iter().any(|place| place.id == id);
    let mut rooms: Vec<Room> = places
        .iter()
        .filter(|place| place.within.is_none_or(|within| !known(within)))
        .filter_map(|place| {
            let inside: Vec<&Place> = places.iter().filter(|p| p.within == Some(place.id)).collect();
            let own = in_place(place.id);
            let hangs = matches!(place.kind, PlaceKind::Chamber | PlaceKind::CuringFridge | PlaceKind::Rail);
            let mut tiles: Vec<Tile> =
                inside.iter().map(|rail| tile(me, &rail.name, rail.id.path(), &in_place(rail.id))).collect();
            let count_inside: usize = inside.iter().map(|rail| in_place(rail.id).len()).sum();
            if !hangs && own.is_empty() && count_inside == 0 {
                return None;
            }
            if tiles.is_empty() || !own.is_empty() {
                let name =
                    if tiles.is_empty() { place.name.clone() } else { format!("{} itself", place.name) };
                tiles.insert(0, tile(me, &name, place.id.path(), &own));
            }
            let said = format!("{}, {}", place.kind.word(), count(own.len() + count_inside));
            Some(Room { name: place.name.clone(), href: place.id.path(), said, tiles })
        })
        .collect();
    let lost: Vec<&Hung> = pieces.iter().filter(|piece| piece.place.is_none_or(|id| !known(id))).collect();
    if !lost.is_empty() {
        let said = format!("{} that hang nowhere in the list of places", count(lost.len()));
        let tiles = vec![tile(me, "no place", "/hanging/move".into(), &lost)];
        rooms.push(Room { name: "Without a place".into(), href: String::new(), said, tiles });
    }
    rooms
}

fn tile(me: &Me, name: &str, href: String, pieces: &[&Hung]) -> Tile {
    let waiting = due(me, pieces);
    Tile {
        href,
        name: name.to_owned(),
        figure: pieces.len().to_string(),
        word: if pieces.len() == 1 { "piece" } else { "pieces" },
        span: span(pieces),
        due: (waiting > 0).then(|| State::new("due", format!("{waiting} due on the scale"))),
    }
}

/// How far along the driest and the wettest are.
fn span(pieces: &[&Hung]) -> String {
    let losses = || pieces.iter().map(|piece| piece.loss().percent);
    match (losses().max(), losses().min()) {
        (Some(driest), Some(wettest)) if pieces.len() > 1 => {
            format!("driest {}, wettest {}", driest.text(), wettest.text())
        }
        (Some(only), _) if only != Percent::ZERO => format!("loss {}", only.text()),
        (Some(_), _) => "not weighed in yet".to_owned(),
        (None, _) => "nothing hangs here".to_owned(),
    }
}
