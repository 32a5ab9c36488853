//! The page of a breakdown once it is closed: what each cut gave, held against the list and other sources, and what it
//! costs.

use askama::Template;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::super::db::{self, Average, Closed, Expected, Weighed};
use super::super::entry::OnTheBlock;
use super::balance::{self, Balance};
use super::heading::{From, Heading};
use super::{breakdown, carried, picks};
use crate::book;
use crate::costs;
use crate::error::{Errors, Result};
use crate::ids::{BreakdownId, ItemId};
use crate::measure::{Grams, Percent};
use crate::rights::Right;
use crate::web::parts::{Fact, Figure, Line, MassBar, Notice};
use crate::web::{App, Area, Frame, Me, Shop, page};

/// What stands behind the question mark.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Switch {
    /// "first" or "with": whether by-products are taken off first; empty: as the shop does.
    pub by_products: String,
}

/// A cut, or a cut of the list that was not weighed.
struct YieldRow {
    name: String,
    weight: String,
    share: String,
    list: String,
    against: String,
    of_parent: String,
    supplier: String,
    shop: String,
}

#[derive(Template)]
#[template(path = "block/result.html")]
struct ResultPage {
    frame: Frame,
    head: Heading,
    errors: Errors,
    notices: Vec<Notice>,
    figures: Vec<Figure>,
    bar: MassBar,
    rows: Vec<YieldRow>,
    loss: YieldRow,
    found: Option<YieldRow>,
    together: YieldRow,
    has_list: bool,
    parent: String,
    supplier: String,
    supplier_note: String,
    shop_note: String,
    costs: carried::Costs,
    lines: Vec<Line>,
    further: Vec<Fact>,
    reopen: String,
    unit: &'static str,
}

/// The page of a closed breakdown; `None` where it is open.
pub async fn show(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: BreakdownId,
    switch: &Switch,
    errors: Errors,
) -> Result<Option<Response>> {
    let mut conn = app.db().await?;
    let Some(closed) = db::closed(&mut conn, id).await? else { return Ok(None) };
    let Some(block) = db::on_the_block(&mut conn, id).await? else { return Ok(None) };
    let from = From::of(&mut conn, &block).await?;
    let expected = db::expected(&mut conn, id).await?;
    let cuts = db::cuts(&mut conn, id).await?;
    let supplier = from.supplier();
    let of_supplier = match supplier {
        Some((supplier, _)) => db::usual(&mut conn, block.source.item, Some(supplier), id).await?,
        None => Average::default(),
    };
    let of_shop = db::usual(&mut conn, block.source.item, None, id).await?;
    let cost =
        costs::cost_of(&mut conn, &[block.source.id]).await?.remove(&block.source.id).unwrap_or_default();
    let method = costs::method(&mut conn).await?;
    let entries = book::db::about(&mut conn, id.0, breakdown::LINES).await?;
    let balance = Balance::of(&block, &cuts, Some(closed.loss));
    let yields = Yields {
        shop: &me.shop,
        balance: &balance,
        expected: &expected,
        cuts: &cuts,
        parent: from.parent.as_ref().map(|parent| parent.taken_in),
        supplier: &of_supplier,
        everyone: &of_shop,
    };
    let page = ResultPage {
        frame: Frame::new(app, me, Area::Block),
        head: Heading::of(me, &block, &from),
        errors,
        notices: notices(&me.shop, &block, &balance, &closed),
        figures: balance::figures(&me.shop, &balance, &expected, &cuts),
        bar: balance::mass_bar(&me.shop, &balance, &cuts),
        rows: yields.rows(),
        loss: yields.loss(),
        found: yields.found(),
        together: yields.together(),
        has_list: !expected.is_empty(),
        parent: from.parent.as_ref().map(|parent| parent.code.to_string()).unwrap_or_default(),
        supplier: supplier
            .map(|(_, name)| name.to_owned())
            .filter(|_| of_supplier.sources > 0)
            .unwrap_or_default(),
        supplier_note: note(&of_supplier, &block.source.item_name),
        shop_note: note(&of_shop, &block.source.item_name),
        costs: carried::reckon(me, id, &cuts, &cost, method, switch),
        lines: breakdown::lines(app, me, &entries, &balance, &cuts)?,
        further: picks::further(&me.shop, &cuts),
        reopen: if me.may(Right::Cut) { format!("/entries/{}/strike", closed.seq) } else { String::new() },
        unit: me.shop.weight_unit().symbol(),
    };
    page::show(status, &page).map(Some)
}

/// A gain is never hidden, and neither is a loss over the tolerance.
fn notices(shop: &Shop, block: &OnTheBlock, balance: &Balance, closed: &Closed) -> Vec<Notice> {
    let mut notices = Vec::new();
    if !block.found.is_zero() {
        let (mark, words) =
            if block.found.is_negative() { ("late", "less lay here") } else { ("late", "more lay here") };
        let share = balance.share(block.found.abs()).text_places(2);
        let text = format!(
            "{} {words} than was taken in, {share} of it. The scale was asked again; its line stands below with the \
             reason.",
            balance::exact(shop, block.found.abs())
        );
        notices.push(Notice::new(mark, text));
    }
    if balance.share(closed.loss) > block.tolerance {
        let text = format!(
            "The cutting loss is over the {} that needs no reason: {}",
            block.tolerance.text(),
            closed.reason
        );
        notices.push(Notice::new("late", text));
    }
    notices
}

fn note(average: &Average, item: &str) -> String {
    match average.sources {
        0 => String::new(),
        1 => format!("1 other {item}"),
        n => format!("{n} others of {item}, together"),
    }
}

/// The table of yields.
struct Yields<'a> {
    shop: &'a Shop,
    balance: &'a Balance,
    expected: &'a [Expected],
    cuts: &'a [Weighed],
    /// What the source's own source weighed.
    parent: Option<Grams>,
    supplier: &'a Average,
    everyone: &'a Average,
}

impl Yields<'_> {
    /// The cuts of the list in its order, weighed or not; then what was weighed beside the list.
    fn rows(&self) -> Vec<YieldRow> {
        let weighed = balance::by_cut(self.cuts);
        let got = |item: ItemId| weighed.iter().find(|(of, _, _)| *of == item).map(|(_, _, grams)| *grams);
        let listed =
            self.expected.iter().map(|cut| self.row(cut.item, &cut.name, got(cut.item), Some(cut.share)));
        let beside = weighed
            .iter()
            .filter(|(item, _, _)| self.expected.iter().all(|cut| cut.item != *item))
            .map(|(item, name, grams)| self.row(*item, name, Some(*grams), None));
        listed.chain(beside).collect()
    }

    fn row(&self, item: ItemId, name: &str, grams: Option<Grams>, list: Option<Percent>) -> YieldRow {
        let got = grams.unwrap_or_default();
        let against = list.map(|list| balance::points(self.balance.share(got) - list)).unwrap_or_default();
        let usual = |average: &Average| {
            let cut = average.cuts.get(&item).copied().unwrap_or_default();
            if average.sources == 0 { String::new() } else { Percent::of(cut, average.taken_in).text() }
        };
        YieldRow {
            name: name.to_owned(),
            list: list.map(Percent::text).unwrap_or_default(),
            against,
            supplier: usual(self.supplier),
            shop: usual(self.everyone),
            ..self.bare(name, grams)
        }
    }

    fn bare(&self, name: &str, grams: Option<Grams>) -> YieldRow {
        let got = grams.unwrap_or_default();
        YieldRow {
            name: name.to_owned(),
            weight: grams.map_or_else(|| "not weighed".into(), |grams| balance::exact(self.shop, grams)),
            share: self.balance.share(got).text_places(2),
            of_parent: self.parent.map(|parent| Percent::of(got, parent).text()).unwrap_or_default(),
            list: String::new(),
            against: String::new(),
            supplier: String::new(),
            shop: String::new(),
        }
    }

    fn loss(&self) -> YieldRow {
        let usual = |average: &Average| {
            let share = Percent::of(average.loss, average.taken_in);
            if average.sources == 0 { String::new() } else { share.text() }
        };
        let listed: Percent = self.expected.iter().map(|cut| cut.share).sum();
        let list = (!self.expected.is_empty()).then(|| Percent::HUNDRED - listed);
        YieldRow {
            list: list.map(Percent::text).unwrap_or_default(),
            against: list
                .map(|list| balance::points(self.balance.share(self.balance.left) - list))
                .unwrap_or_default(),
            supplier: usual(self.supplier),
            shop: usual(self.everyone),
            ..self.bare("Cutting loss", Some(self.balance.left))
        }
    }

    fn found(&self) -> Option<YieldRow> {
        let found = self.balance.found;
        let name = if found.is_negative() { "Missing" } else { "Of it found by weighing again" };
        (!found.is_zero()).then(|| self.bare(name, Some(found.abs())))
    }

    fn together(&self) -> YieldRow {
        let missing = if self.balance.found.is_negative() { self.balance.found.abs() } else { Grams::ZERO };
        self.bare("Together", Some(self.balance.out + self.balance.left + missing))
    }
}
