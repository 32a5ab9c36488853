//! The page of every lot that is not a piece: what it is, where it came from, what became of it.

use askama::Template;
use axum::http::StatusCode;
use axum::response::Response;
use sqlx::PgConnection;

use super::super::db::{self, Became};
use super::super::entry;
use super::lot::Head;
use crate::book::Lot;
use crate::dispatch;
use crate::error::Result;
use crate::hanging;
use crate::measure::{day_text, day_year};
use crate::receiving::Origin;
use crate::rights::Right;
use crate::web::parts::{Fact, Figure};
use crate::web::{App, Area, Frame, Me, ledger, page};

/// Something that came out of the lot.
struct Row {
    href: String,
    code: String,
    name: String,
    weight: String,
    on_hand: String,
}

/// Something that can be done with it.
struct Act {
    href: String,
    name: &'static str,
}

#[derive(Template)]
#[template(path = "lots/other.html")]
struct OtherPage {
    frame: Frame,
    head: Head,
    said: String,
    held: String,
    figures: Vec<Figure>,
    facts: Vec<Fact>,
    rows: Vec<Row>,
    acts: Vec<Act>,
}

pub async fn draw(
    app: &App,
    me: &Me,
    conn: &mut PgConnection,
    head: Head,
    lot: &Lot,
    origin: Option<Origin>,
) -> Result<Response> {
    let place = match lot.place {
        Some(place) => db::place_name(conn, place).await?,
        None => None,
    };
    let behind = dispatch::held_behind(conn, lot.id).await?;
    let behind = behind.map(|source| format!("packed from {source}, which is on hold"));
    let hook = hanging::hook(conn, lot.id).await?;
    let became = db::became(conn, lot.id).await?;
    let breakdowns = db::breakdowns(conn, lot.id).await?;
    let batch = db::batch_of_mix(conn, lot.id).await?;
    let place = place.map(|place| match hook {
        Some(hook) => format!("{place}, hook {hook}"),
        None => place,
    });
    let mut facts = vec![Fact::new("Form", lot.form.word())];
    if let (Some(name), Some(id)) = (&place, lot.place) {
        facts.push(Fact::new("Place", name.clone()).link(id.path()));
    }
    if let Some(batch) = batch {
        facts.push(Fact::new("Batch", head.code.clone()).link(batch.path()));
    }
    facts.extend(breakdowns.iter().map(|one| {
        let state = if one.closed { "closed" } else { "open" };
        Fact::new("Breakdown", state).link(one.id.path())
    }));
    let came_in = origin.as_ref().map(|origin| origin.grams);
    facts.extend(origin.into_iter().flat_map(|origin| origin_facts(me, origin)));
    let page = OtherPage {
        frame: Frame::new(app, me, Area::Elsewhere),
        said: place
            .map_or_else(|| lot.form.word().to_owned(), |place| format!("{}, {place}", lot.form.word())),
        held: lot.held.clone().or(behind).unwrap_or_default(),
        figures: figures(me, lot, came_in),
        facts,
        rows: became.into_iter().map(|one| row(me, one)).collect(),
        acts: acts(me, &head, lot),
        head,
    };
    page::show(StatusCode::OK, &page)
}

fn figures(me: &Me, lot: &Lot, came_in: Option<crate::measure::Grams>) -> Vec<Figure> {
    let figure = |name: &str, grams: crate::measure::Grams| {
        let (value, unit) = grams.figure(me.shop.system);
        let (_, other) = grams.both(me.shop.system);
        Figure::new(name, value, unit).beneath(other)
    };
    let mut all = vec![figure("On hand", lot.grams).chief()];
    all.extend(came_in.map(|grams| figure("Came in", grams)));
    all
}

fn acts(me: &Me, head: &Head, lot: &Lot) -> Vec<Act> {
    let mut acts = Vec::new();
    if !head.may_hang {
        return acts;
    }
    if hanging::is_weighed_in(lot.form) {
        acts.push(Act { href: hanging::weigh_path(&head.code, ""), name: "Weigh in" });
    }
    if entry::is_counted(lot.form) {
        acts.push(Act { href: format!("{}/count", head.href), name: "Count" });
    }
    acts.push(Act { href: head.move_it.clone(), name: "Move" });
    if me.may(Right::Check) {
        acts.push(Act { href: head.read_it.clone(), name: "Record a reading" });
    }
    acts
}

/// What the docket and its papers say.
fn origin_facts(me: &Me, origin: Origin) -> Vec<Fact> {
    let day =
        |date: time::Date| if date.year() == me.today().year() { day_text(date) } else { day_year(date) };
    let mut facts = vec![
        Fact::new("Supplier", origin.supplier_name).link(origin.supplier.path()),
        Fact::new("Docket", format!("{}, {}", origin.docket, ledger::day(me, origin.happened_at)))
            .link(origin.delivery.path()),
    ];
    let texts = [
        ("Species", origin.species),
        ("Breed", origin.breed),
        ("Ear tag", origin.ear_tag),
        ("Slaughter lot", origin.slaughter_lot),
        ("Supplier's lot", origin.supplier_lot),
    ];
    facts.extend(
        texts.into_iter().filter(|(_, text)| !text.is_empty()).map(|(name, text)| Fact::new(name, text)),
    );
    facts.extend(origin.slaughtered.map(|date| Fact::new("Slaughtered", day(date))));
    facts.extend(origin.best_before.map(|date| Fact::new("Best before", day(date))));
    facts.extend(origin.temperature.map(|at| Fact::new("Temperature at the door", at.text(me.shop.system))));
    facts
}

fn row(me: &Me, one: Became) -> Row {
    let account = one.account.map(|account| account.word().to_owned());
    let name = match (one.item_name, one.party_name, account) {
        (Some(item), _, _) => item,
        (None, Some(party), Some(account)) => format!("{account}: {party}"),
        (None, _, Some(account)) => account,
        (None, _, None) => String::new(),
    };
    Row {
        href: one.lot.map(|lot| lot.path()).unwrap_or_default(),
        code: one.code.map(|code| code.to_string()).unwrap_or_default(),
        name,
        weight: one.grams.map(|grams| me.shop.weight(grams)).unwrap_or_default(),
        on_hand: one.on_hand.map(|grams| me.shop.weight(grams)).unwrap_or_default(),
    }
}
