//! `/cold/{lot}`: how warm it was where a lot lay, from the door to here.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;

use crate::cold::db::{self, Lay, Measured, PlaceLimit, Stay};
use crate::error::{Error, Result};
use crate::ids::LotId;
use crate::setup::entry::PlaceKind;
use crate::standards::cold::Side;
use crate::standards::cut_off;
use crate::web::parts::{Fact, Figure};
use crate::web::{App, Area, Frame, Me, Path, ledger, page};

struct Row {
    place: String,
    place_href: String,
    code: String,
    item_name: String,
    lot_href: String,
    from: String,
    to: String,
    readings: String,
    warmest: String,
    limit: String,
    over: String,
    longest: String,
    gap: String,
}

#[derive(Template)]
#[template(path = "cold/lot.html")]
struct ColdPage {
    frame: Frame,
    code: String,
    name: String,
    form: &'static str,
    lot_href: String,
    figures: Vec<Figure>,
    door: Vec<Fact>,
    rows: Vec<Row>,
    sources: Vec<String>,
}

/// GET `/cold/{lot}`
pub async fn page(State(app): State<App>, me: Me, Path(lot): Path<LotId>) -> Result<Response> {
    let mut conn = app.db().await?;
    let named = db::named(&mut conn, lot).await?.ok_or(Error::NotFound)?;
    let lays = db::lays(&mut conn, lot).await?;
    let mut lots: Vec<LotId> = lays.iter().map(|lay| lay.lot).chain([lot]).collect();
    lots.sort_unstable();
    lots.dedup();
    let door = db::at_the_door(&mut conn, &lots).await?;
    let places: Vec<_> = lays.iter().map(|lay| lay.place).collect();
    let limits = db::limits(&mut conn, &places, None).await?;
    let until = |lay: &Lay| Some(lay.to.unwrap_or(me.now));
    let stays: Vec<Stay> =
        lays.iter().map(|lay| Stay { place: lay.place, from: lay.from, to: until(lay) }).collect();
    let measured = db::measured(&mut conn, &stays).await?;
    let door = door.iter().map(|one| {
        let value = match one.temperature {
            Some(value) => value.text(me.shop.system),
            None if one.frozen => "frozen, not measured".into(),
            None => "not measured".into(),
        };
        Fact::new(format!("{}, {}", one.code, ledger::moment(&me, one.at)), value)
    });
    let mut sources: Vec<String> =
        limits.iter().map(|limit| format!("{}: {}", limit.names, limit.sources)).collect();
    sources.sort();
    sources.dedup();
    let page = ColdPage {
        frame: Frame::new(&app, &me, Area::Checks),
        code: named.code.to_string(),
        name: named.item_name,
        form: named.form.word(),
        lot_href: lot.path(),
        figures: figures(&lays, &limits, &measured),
        door: door.collect(),
        rows: lays.iter().zip(&measured).map(|(lay, measured)| row(&me, lay, &limits, measured)).collect(),
        sources,
    };
    page::show(StatusCode::OK, &page)
}

/// The most of a place's limit, where it has one.
fn most(limits: &[PlaceLimit], lay: &Lay) -> Option<crate::measure::Celsius> {
    limits.iter().find(|limit| limit.place == lay.place).and_then(|limit| limit.most)
}

/// Places that are there to keep things cold.
fn is_cold(kind: PlaceKind) -> bool {
    matches!(kind, PlaceKind::Cooler | PlaceKind::Freezer | PlaceKind::CuringFridge | PlaceKind::Counter)
}

fn figures(lays: &[Lay], limits: &[PlaceLimit], measured: &[Measured]) -> Vec<Figure> {
    let mut over = Decimal::ZERO;
    let mut longest = Decimal::ZERO;
    let mut unread = 0_usize;
    for (lay, measured) in lays.iter().zip(measured).filter(|(lay, _)| is_cold(lay.kind)) {
        let beyond = most(limits, lay).and_then(|most| measured.log.beyond(Side::Above, most));
        match beyond {
            None => unread += 1,
            Some(beyond) => {
                over += beyond.minutes;
                longest = longest.max(beyond.longest);
            }
        }
    }
    let beneath = match unread {
        0 => "in all its places that keep cold".to_owned(),
        n => format!("{n} of its stays in the cold without a reading or without a limit"),
    };
    vec![
        Figure::new("Above the limit", cut_off(over, 1), "min").beneath(beneath).chief(),
        Figure::new("Longest stretch", cut_off(longest, 1), "min"),
    ]
}

fn row(me: &Me, lay: &Lay, limits: &[PlaceLimit], measured: &Measured) -> Row {
    let log = &measured.log;
    let limit = most(limits, lay);
    let beyond = limit.and_then(|limit| log.beyond(Side::Above, limit));
    let minutes =
        |value: Option<Decimal>| value.map_or("–".to_owned(), |value| format!("{} min", cut_off(value, 1)));
    Row {
        place: lay.place_name.clone(),
        place_href: format!("/hanging/places/{}", lay.place),
        code: lay.code.to_string(),
        item_name: lay.item_name.clone(),
        lot_href: lay.lot.path(),
        from: ledger::moment(me, lay.from),
        to: lay.to.map_or("now".into(), |to| ledger::moment(me, to)),
        readings: log.samples().len().to_string(),
        warmest: log.warmest().map_or("–".into(), |sample| sample.value.text(me.shop.system)),
        limit: limit.map_or("none".into(), |limit| limit.text(me.shop.system)),
        over: minutes(beyond.as_ref().map(|beyond| beyond.minutes)),
        longest: minutes(beyond.as_ref().map(|beyond| beyond.longest)),
        gap: log.longest_gap().map(|gap| format!("no reading for {}", gap.words())).unwrap_or_default(),
    }
}
