//! `/trace/{sort}/{key}/everything`: everything from a source, and its balance to the gram.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;

use super::super::balance::{Balance, Place};
use super::super::db::{self, Direction, Names, Sort, Source};
use super::super::flow::{self, Flow};
use super::super::parts::settled;
use super::rows::{Way, address, left, tree};
use super::{Scope, draw};
use crate::book::{Account, Side};
use crate::error::{Error, Result};
use crate::ids::LotId;
use crate::measure::{Grams, Percent};
use crate::web::csv::Csv;
use crate::web::ledger::day;
use crate::web::parts::{Figure, MassBar, Picture, Share, State as Word, TreeRow};
use crate::web::{App, Area, Frame, Me, Path, Shop, page};

/// The most rows of the table; the file has them all.
const ROWS: usize = 500;

/// A side of the balance.
struct BalanceRow {
    name: String,
    href: String,
    weight: String,
    share: String,
}

/// A lot in scope.
struct LotRow {
    href: String,
    code: String,
    name: String,
    took_in: String,
    share: String,
    now: String,
    state: Option<Word>,
}

/// What left for whom.
struct SentRow {
    day: String,
    docket: String,
    docket_href: String,
    customer: String,
    customer_href: String,
    code: String,
    href: String,
    weight: String,
    share: String,
}

#[derive(Template)]
#[template(path = "trace/everything.html")]
struct EverythingPage {
    frame: Frame,
    name: String,
    file: String,
    figures: Vec<Figure>,
    bar: MassBar,
    came_in: Vec<BalanceRow>,
    is_now: Vec<BalanceRow>,
    total: String,
    picture: Option<Picture>,
    lots: Vec<LotRow>,
    /// How many lots the table leaves to the file; empty: none.
    more: String,
    sent: Vec<SentRow>,
    forward: Vec<TreeRow>,
}

/// A source, everything from it, and what it is all called.
struct Everything {
    source: Source,
    here: BTreeSet<LotId>,
    flow: Flow,
    names: Names,
    balance: Balance,
    dockets: std::collections::BTreeMap<(crate::book::Seq, LotId), (crate::ids::DispatchId, String)>,
}

impl Everything {
    async fn find(app: &App, sort: &str, key: &str) -> Result<Self> {
        let sort: Sort = sort.parse().map_err(|()| Error::NotFound)?;
        let mut conn = app.db().await?;
        let source = db::source(&mut conn, sort, key).await?.ok_or(Error::NotFound)?;
        let lineage = db::lineage(&mut conn, &source.lots, Direction::Forward).await?;
        let here: BTreeSet<LotId> = source.lots.iter().copied().collect();
        let flow = flow::forward(&lineage.steps, &here);
        let mut lots = lineage.lots;
        // Where it came in from other lots, they are named in the balance.
        lots.extend(flow.came_in.keys().filter_map(|side| match side {
            Side::Lot(lot) => Some(*lot),
            Side::Account(..) => None,
        }));
        let names = db::names(&mut conn, lots).await?;
        let sent: Vec<LotId> = flow.sent.iter().map(|sent| sent.lot).collect();
        let dockets = db::dockets(&mut conn, &sent).await?;
        let balance = Balance::of(&flow, |lot| names.lots.get(&lot).and_then(|known| known.place));
        Ok(Self { source, here, flow, names, balance, dockets })
    }

    /// Every lot in scope, by its code.
    fn lots(&self) -> Vec<&db::Known> {
        let reached = self.flow.reached.keys().filter_map(|lot| self.names.lots.get(lot));
        let mut lots: Vec<&db::Known> = reached.filter(|lot| !lot.struck).collect();
        lots.sort_by_key(|lot| lot.code);
        lots
    }
}

/// GET `/trace/{sort}/{key}/everything`
pub async fn page(
    State(app): State<App>,
    me: Me,
    Path((sort, key)): Path<(String, String)>,
) -> Result<Response> {
    let all = Everything::find(&app, &sort, &key).await?;
    let on = BTreeSet::new();
    let scope = Scope {
        me: &me,
        names: &all.names,
        links: &all.flow.links,
        here: &all.here,
        flow: &all.flow,
        on: &on,
    };
    let lots = all.lots();
    let more = lots.len().saturating_sub(ROWS);
    let total = all.balance.total();
    let label = format!("Everything from {}", all.source.name);
    let page = EverythingPage {
        frame: Frame::new(&app, &me, Area::Trace),
        file: file_path(&sort, &key),
        figures: figures(&me.shop, &all.balance),
        bar: bar(&me.shop, &all),
        came_in: all
            .balance
            .came_in
            .iter()
            .map(|(side, grams)| came_in(&me.shop, &all, *side, *grams))
            .collect(),
        is_now: all
            .balance
            .is_now
            .iter()
            .map(|(place, grams)| is_now(&me.shop, &all, *place, *grams))
            .collect(),
        total: me.shop.weight(total),
        picture: draw::picture(&scope, label),
        lots: lots.iter().take(ROWS).map(|lot| lot_row(&scope, lot)).collect(),
        more: if more == 0 { String::new() } else { more.to_string() },
        sent: sent(&me, &all),
        forward: tree(&scope, Way::Forward),
        name: all.source.name.clone(),
    };
    page::show(StatusCode::OK, &page)
}

fn file_path(sort: &str, key: &str) -> String {
    let key = percent_encoding::utf8_percent_encode(key, percent_encoding::NON_ALPHANUMERIC);
    format!("/trace/{sort}/{key}/everything.csv")
}

/// What came in, and the three things that became of it.
pub(super) fn figures(shop: &Shop, balance: &Balance) -> Vec<Figure> {
    let total = balance.total();
    let figure = |name: &str, grams: Grams| {
        let (value, unit) = grams.figure(shop.system);
        Figure::new(name, value, unit).beneath(Percent::of(grams, total).text())
    };
    vec![
        Figure { beneath: total.both(shop.system).1, ..figure("Came in", total) },
        figure("In the shop", balance.here()).chief(),
        figure("Went to customers", balance.gone_out()),
        figure("Lost", balance.lost()),
    ]
}

fn came_in(shop: &Shop, all: &Everything, side: Side, grams: Grams) -> BalanceRow {
    let name = match side {
        Side::Lot(lot) => match all.names.lots.get(&lot) {
            Some(known) => format!("from {} {}", known.code, known.item_name),
            None => "from another lot".into(),
        },
        Side::Account(Account::Supplier, party) => format!("from {}", all.names.party(party, "a supplier")),
        Side::Account(Account::Found, _) => "found: a scale or a count said there was more".into(),
        Side::Account(account, _) => account.word().to_owned(),
    };
    let share = Percent::of(grams, all.balance.total()).text();
    BalanceRow { name, href: address(side), weight: shop.weight(grams), share }
}

fn is_now(shop: &Shop, all: &Everything, place: Place, grams: Grams) -> BalanceRow {
    let share = Percent::of(grams, all.balance.total()).text();
    let href = match place {
        Place::Customer(party) => address(Side::Account(Account::Customer, party)),
        _ => String::new(),
    };
    BalanceRow { name: place_name(all, place), href, weight: shop.weight(grams), share }
}

fn place_name(all: &Everything, place: Place) -> String {
    match place {
        Place::Here(place) => {
            let name = place.and_then(|place| all.names.place(place)).unwrap_or("the shop");
            format!("in {name}")
        }
        Place::Customer(party) => match party {
            Some(_) => format!("to {}", all.names.party(party, "a customer")),
            None => "over the counter".into(),
        },
        Place::Lost(Account::Supplier) => "back to the supplier".into(),
        Place::Lost(account) => account.word().to_owned(),
    }
}

/// The balance as a bar; what the bar cannot show as a width of its own it still names.
fn bar(shop: &Shop, all: &Everything) -> MassBar {
    let total = all.balance.total();
    let mut start = Grams::ZERO;
    let mut shares = Vec::new();
    for (nr, (place, grams)) in (1..).zip(&all.balance.is_now) {
        let name = place_name(all, *place);
        let percent = Percent::of(*grams, total);
        shares.push(Share {
            nr,
            fits: Share::room(&name, percent),
            name,
            weight: shop.weight(*grams),
            percent: percent.text(),
            start: Percent::of(start, total).decimal().to_string(),
            width: percent.decimal().max(Decimal::ZERO).to_string(),
            kind: if matches!(place, Place::Lost(_)) { "loss" } else { "" },
            href: String::new(),
        });
        start += *grams;
    }
    let said: Vec<String> = shares.iter().map(|share| format!("{} {}", share.name, share.weight)).collect();
    MassBar { label: format!("Where it is now, by weight: {}", said.join(", ")), shares, left: None }
}

fn lot_row(scope: &Scope, lot: &db::Known) -> LotRow {
    let shop = &scope.me.shop;
    let share = scope.share(lot.id).map_or_else(
        || "all of it".to_owned(),
        |(grams, percent)| format!("{}, {}", shop.weight(grams), percent.text()),
    );
    LotRow {
        href: address(Side::Lot(lot.id)),
        code: lot.code.to_string(),
        name: lot.item_name.clone(),
        took_in: shop.weight(scope.weight(lot.id)),
        share,
        now: left(scope, lot),
        state: lot.held.then(|| Word::new("held", "on hold")),
    }
}

fn sent(me: &Me, all: &Everything) -> Vec<SentRow> {
    let shares = settled(&all.flow.sent.iter().map(|sent| sent.of_source).collect::<Vec<_>>());
    let rows = all.flow.sent.iter().zip(shares).map(|(sent, share)| {
        let docket = all.dockets.get(&(sent.seq, sent.lot));
        SentRow {
            day: day(me, sent.at),
            docket: docket.map(|(_, reference)| reference.clone()).unwrap_or_default(),
            docket_href: docket.map(|(id, _)| format!("/trace/dispatches/{id}")).unwrap_or_default(),
            customer: all.names.party(sent.customer, "over the counter"),
            customer_href: address(Side::Account(Account::Customer, sent.customer)),
            code: all.names.lots.get(&sent.lot).map(|lot| lot.code.to_string()).unwrap_or_default(),
            href: address(Side::Lot(sent.lot)),
            weight: me.shop.weight(sent.grams),
            share: me.shop.weight(share),
        }
    });
    rows.collect()
}

/// GET `/trace/{sort}/{key}/everything.csv`
pub async fn list(
    State(app): State<App>,
    me: Me,
    Path((sort, key)): Path<(String, String)>,
) -> Result<Response> {
    let all = Everything::find(&app, &sort, &key).await?;
    let mut csv = Csv::new(&[
        "row",
        "code",
        "what",
        "form",
        "took in or sent, g",
        "of the source, g",
        "now, g",
        "where or to whom",
        "docket",
        "day",
    ]);
    for lot in all.lots() {
        let took_in = all.flow.reached.get(&lot.id).copied().unwrap_or_default();
        csv.row(&[
            "lot".to_owned(),
            lot.code.to_string(),
            lot.item_name.clone(),
            lot.form.word().to_owned(),
            took_in.grams().to_string(),
            took_in.share().to_string(),
            lot.grams.to_string(),
            lot.place_name.clone(),
            String::new(),
            String::new(),
        ]);
    }
    let shares = settled(&all.flow.sent.iter().map(|sent| sent.of_source).collect::<Vec<_>>());
    for (sent, share) in all.flow.sent.iter().zip(shares) {
        let lot = all.names.lots.get(&sent.lot);
        let docket = all.dockets.get(&(sent.seq, sent.lot));
        csv.row(&[
            "sent".to_owned(),
            lot.map(|lot| lot.code.to_string()).unwrap_or_default(),
            lot.map(|lot| lot.item_name.clone()).unwrap_or_default(),
            lot.map(|lot| lot.form.word().to_owned()).unwrap_or_default(),
            sent.grams.to_string(),
            share.to_string(),
            String::new(),
            all.names.party(sent.customer, "over the counter"),
            docket.map(|(_, reference)| reference.clone()).unwrap_or_default(),
            me.shop.date(sent.at).to_string(),
        ]);
    }
    for (place, grams) in &all.balance.is_now {
        let mut row = vec![String::new(); 10];
        row[0] = "balance".into();
        row[5] = grams.to_string();
        row[7] = place_name(&all, *place);
        csv.row(&row);
    }
    page::file("trace.csv", "text/csv; charset=utf-8", csv.into_bytes())
}
