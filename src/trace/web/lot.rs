//! `/trace/lots/{id}`: one lot, back to the door and forward to whoever got it.

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db::{self, Direction, Lineage, Names, Sort};
use super::super::{Balance, flow};
use super::rows::{Way, tree};
use super::source::figures;
use super::{Links, Scope, draw};
use crate::book::{self, Account, Lot, Side};
use crate::error::{Error, Result};
use crate::ids::LotId;
use crate::measure::Percent;
use crate::receiving::{self, Origin};
use crate::web::ledger::day;
use crate::web::parts::{Figure, Picture, State as Word, TreeRow};
use crate::web::{App, Area, Frame, Me, Path, page};

/// Something from outside that is in the lot.
struct Row {
    href: String,
    code: String,
    what: String,
    marks: String,
    from: String,
    from_href: String,
    weight: String,
    share: String,
}

#[derive(Template)]
#[template(path = "trace/lot.html")]
struct LotPage {
    frame: Frame,
    code: String,
    lot_href: String,
    item_name: String,
    state: Option<Word>,
    figures: Vec<Figure>,
    origins: Vec<Row>,
    /// The page of the one animal that it comes from; empty where there are several or where it came in itself.
    animal: String,
    /// The page of everything from it, or from its animal where it is one.
    everything: String,
    came_in_itself: bool,
    picture: Option<Picture>,
    back: Vec<TreeRow>,
    forward: Vec<TreeRow>,
}

/// GET `/trace/lots/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<LotId>) -> Result<Response> {
    let mut conn = app.db().await?;
    let lot = book::db::lot(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let here: BTreeSet<LotId> = [id].into();
    let behind = db::lineage(&mut conn, &[id], Direction::Back).await?;
    let ahead = db::lineage(&mut conn, &[id], Direction::Forward).await?;
    let flow = flow::forward(&ahead.steps, &here);
    let back = flow::back(&behind.steps, &here);
    let names = db::names(&mut conn, behind.lots.iter().chain(&ahead.lots).copied()).await?;
    let mut origins = Vec::new();
    for (door, grams, whole) in behind.shares_in(id) {
        if let Some(origin) = receiving::origin(&mut conn, door).await? {
            let share = Percent::of(grams, whole).text();
            origins.push((row(&me, &names, &origin, me.shop.weight(grams), share), origin));
        }
    }
    drop(conn);
    let balance = Balance::of(&flow, |lot| names.lots.get(&lot).and_then(|known| known.place));
    let mut links = forward_links(&flow.links, &here);
    let on = main_way(&behind, id, &back);
    let scope = |links: &Links, draw: &dyn Fn(&Scope) -> Vec<TreeRow>| {
        draw(&Scope { me: &me, names: &names, links, here: &here, flow: &flow, on: &on })
    };
    let (back_rows, forward_rows) =
        (scope(&back, &|scope| tree(scope, Way::Back)), scope(&links, &|scope| tree(scope, Way::Forward)));
    links.extend(back);
    let scope = Scope { me: &me, names: &names, links: &links, here: &here, flow: &flow, on: &on };
    let label = format!("Where {} came from, and what became of it", lot.code);
    let came_in_itself = behind.doors().contains(&id);
    let animal = animal(&origins).filter(|_| !came_in_itself);
    let page = LotPage {
        frame: Frame::new(&app, &me, Area::Trace),
        code: lot.code.to_string(),
        lot_href: id.path(),
        item_name: lot.item_name.clone(),
        state: state(&lot),
        figures: figures(&me.shop, &balance),
        animal: animal.unwrap_or_default(),
        everything: everything(id, came_in_itself, &origins),
        came_in_itself,
        picture: draw::picture(&scope, label),
        back: back_rows,
        forward: forward_rows,
        origins: origins.into_iter().map(|(row, _)| row).collect(),
    };
    page::show(StatusCode::OK, &page)
}

/// A picture of a lot shows where it came from by the way back; forward it begins with the lot itself.
fn forward_links(links: &Links, here: &BTreeSet<LotId>) -> Links {
    let ahead = links.iter().filter(|((_, to), _)| !matches!(to, Side::Lot(lot) if here.contains(lot)));
    ahead.map(|(link, weight)| (*link, *weight)).collect()
}

/// The lots along the main way back, and the supplier at its end.
fn main_way(behind: &Lineage, lot: LotId, back: &BTreeMap<(Side, Side), i128>) -> BTreeSet<Side> {
    let way = behind.way_to(lot);
    let door = way.first().copied().unwrap_or(lot);
    let supplier = back
        .keys()
        .find(|(from, to)| matches!(from, Side::Account(Account::Supplier, _)) && *to == Side::Lot(door));
    way.into_iter().map(Side::Lot).chain(supplier.map(|(from, _)| *from)).collect()
}

fn state(lot: &Lot) -> Option<Word> {
    match () {
        () if lot.struck => Some(Word::new("gone", "struck")),
        () if lot.held.is_some() => Some(Word::new("held", "on hold")),
        () if lot.grams.is_zero() => Some(Word::new("gone", "nothing left")),
        () => None,
    }
}

fn row(me: &Me, names: &Names, origin: &Origin, weight: String, share: String) -> Row {
    let known = names.lots.get(&origin.lot);
    let marks = [
        ("ear tag", &origin.ear_tag),
        ("slaughter lot", &origin.slaughter_lot),
        ("supplier lot", &origin.supplier_lot),
        ("", &origin.breed),
    ];
    let marks = marks.into_iter().filter(|(_, mark)| !mark.is_empty());
    let marks: Vec<String> = marks.map(|(word, mark)| format!("{word} {mark}").trim().to_owned()).collect();
    Row {
        href: format!("/trace/lots/{}", origin.lot),
        code: known.map(|lot| lot.code.to_string()).unwrap_or_default(),
        what: known.map(|lot| lot.item_name.clone()).unwrap_or_default(),
        marks: marks.join(", "),
        from: format!("{}, docket {}, {}", origin.supplier_name, origin.docket, day(me, origin.happened_at)),
        from_href: Sort::Delivery.path(&origin.delivery.to_string()),
        weight,
        share,
    }
}

fn is_animal(origin: &Origin) -> bool {
    [&origin.species, &origin.ear_tag, &origin.slaughter_lot].into_iter().any(|mark| !mark.is_empty())
}

/// The trace of the one animal in it.
fn animal(origins: &[(Row, Origin)]) -> Option<String> {
    let mut animals = origins.iter().filter(|(_, origin)| is_animal(origin));
    let first = animals.next()?;
    animals.next().is_none().then(|| first.0.href.clone())
}

/// Out from an animal is out from its ear tag: it may have come in as two sides.
fn everything(lot: LotId, came_in_itself: bool, origins: &[(Row, Origin)]) -> String {
    match origins.first() {
        Some((_, origin)) if came_in_itself && !origin.ear_tag.is_empty() => {
            Sort::EarTag.path(&origin.ear_tag)
        }
        _ => Sort::Lot.path(&lot.to_string()),
    }
}
