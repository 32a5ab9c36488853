//! `/block/breakdowns/{id}`: weigh the next cut, beside the live balance and the lines that are signed.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db::{self, Expected, Weighed};
use super::super::entry::{self, CutLot, CutWeighed, GoesTo, OnTheBlock};
use crate::book::{self, Form as LotForm, Pen};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BreakdownId, ItemId, LotId, PlaceId};
use crate::measure::{Grams, Percent};
use crate::rights::Right;
use crate::rights::needs::Cut;
use crate::setup;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Figure, Line, MassBar, Share};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 200;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct WeighForm {
    cut: String,
    weight: String,
    weight_unit: String,
    pieces: String,
    goes_to: String,
    place: String,
    when: String,
}

/// What the form says, before the book is asked.
struct Typed {
    item: ItemId,
    weight: Grams,
    pieces: u16,
    goes_to: GoesTo,
    place: Option<PlaceId>,
    when: Option<time::OffsetDateTime>,
}

impl WeighForm {
    fn fresh(me: &Me, expected: &[Expected], cuts: &[Weighed], place: &str) -> Self {
        let next = expected.iter().find(|cut| cuts.iter().all(|weighed| weighed.item != cut.item));
        Self {
            cut: next.map(|cut| cut.item.to_string()).unwrap_or_default(),
            goes_to: next.map(|cut| cut.goes_to.clone()).unwrap_or_default(),
            weight_unit: me.shop.weight_unit().symbol().to_owned(),
            pieces: "1".into(),
            place: place.to_owned(),
            ..Self::default()
        }
    }

    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let item = read.value("cut", &self.cut, "Choose the cut.");
        let weight = read.weight("weight", &self.weight, &self.weight_unit);
        let pieces = read.count("pieces", &self.pieces, 1, 999);
        let goes_to: Option<GoesTo> = read.value("goes_to", &self.goes_to, "Say where it goes.");
        let place = read.maybe("place", &self.place, "Choose the place.");
        if goes_to.is_some_and(|goes| goes != GoesTo::Waste) && place == Some(None) {
            read.refuse("place", "Choose the place where it is put.");
        }
        let when = read.when(&self.when);
        read.finish(|| {
            Some(Typed {
                item: item?,
                weight: weight?,
                pieces: pieces?,
                goes_to: goes_to?,
                place: place?,
                when: when?,
            })
        })
    }
}

#[derive(Template)]
#[template(path = "block/breakdown.html")]
struct BreakdownPage {
    frame: Frame,
    id: BreakdownId,
    form_id: Uuid,
    form: WeighForm,
    errors: Errors,
    form_word: &'static str,
    code: String,
    lot_href: String,
    item_name: String,
    figures: Vec<Figure>,
    bar: MassBar,
    lines: Vec<Line>,
    cuts: Vec<Choice>,
    goes_to: Vec<Choice>,
    places: Vec<Choice>,
    /// Grams on the block, for the weight that would be left.
    left: String,
    may_cut: bool,
    closed: bool,
}

/// GET `/block/breakdowns/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<BreakdownId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/block/breakdowns/{id}`
pub async fn weigh(
    State(app): State<App>,
    me: Signer<Cut>,
    Path(id): Path<BreakdownId>,
    form: Form<WeighForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BreakdownId, form: &Form<WeighForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let block = db::on_the_block(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let cut = cut_weighed(&mut pen, &block, typed).await?;
    pen.append(entry::weigh(cut, &block, &me.shop.say())?).await?;
    pen.commit().await
}

/// Fills in what the book knows: the names, and the tag that the cut gets.
async fn cut_weighed(pen: &mut Pen, block: &OnTheBlock, typed: Typed) -> Result<CutWeighed> {
    let item =
        setup::item(pen, typed.item).await?.ok_or_else(|| Refusal::at("cut", "There is no such cut."))?;
    let lot = match typed.place {
        Some(place) if typed.goes_to != GoesTo::Waste => {
            let place = setup::place(pen, place).await?;
            let place = place.ok_or_else(|| Refusal::at("place", "There is no such place."))?;
            let code = block.source.code.piece(pen.next_piece(&block.source.code).await?);
            let code = code.map_err(anyhow::Error::from)?;
            Some(CutLot { id: LotId::made_by(pen.next().id), code, form: item.form, place: place.named() })
        }
        _ => None,
    };
    Ok(CutWeighed {
        breakdown: block.breakdown,
        source: block.source.id,
        lot,
        item: item.named(),
        weight: typed.weight,
        pieces: typed.pieces,
        goes_to: typed.goes_to,
        fat: None,
    })
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: BreakdownId,
    form: Option<WeighForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let block = db::on_the_block(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let expected = db::expected(&mut conn, id).await?;
    let cuts = db::cuts(&mut conn, id).await?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let items = setup::items(&mut conn, &CUT_FORMS).await?;
    let places = setup::places(&mut conn).await?;
    let style = Style { strike: me.may(Right::Cut), ..Style::default() };
    let first_place = places.iter().find(|place| place.kind == setup::entry::PlaceKind::Cooler);
    let form = form.unwrap_or_else(|| {
        WeighForm::fresh(me, &expected, &cuts, &first_place.map(|p| p.id.to_string()).unwrap_or_default())
    });
    let page = BreakdownPage {
        frame: Frame::new(app, me, Area::Block),
        id,
        form_id: fresh_id(),
        form,
        errors,
        form_word: block.source.form.word(),
        code: block.source.code.to_string(),
        lot_href: block.source.id.path(),
        item_name: block.source.item_name.clone(),
        figures: figures(&me.shop, &block, &expected, &cuts),
        bar: mass_bar(&me.shop, &block, &cuts),
        lines: ledger::lines(&app.book.kinds, me, &entries, style)?,
        cuts: picks(&expected, &items),
        goes_to: GoesTo::ALL.iter().map(|goes| Choice::new(goes.word(), goes.word())).collect(),
        places: places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect(),
        left: block.source.grams.decimal().to_string(),
        may_cut: me.may(Right::Cut),
        closed: block.closed,
    };
    page::show(status, &page)
}

const CUT_FORMS: [LotForm; 6] =
    [LotForm::Primal, LotForm::Cut, LotForm::Trim, LotForm::Bone, LotForm::Fat, LotForm::Offal];

/// The cuts of the list in its order, then everything else that can come off a carcass.
fn picks(expected: &[Expected], items: &[setup::Item]) -> Vec<Choice> {
    let listed = expected
        .iter()
        .map(|cut| Choice::new(cut.item, cut.name.clone()).note(format!("list {}", cut.share.text())));
    let others = items.iter().filter(|item| expected.iter().all(|cut| cut.item != item.id));
    listed.chain(others.map(|item| Choice::new(item.id, item.name.clone()))).collect()
}

fn figures(shop: &Shop, block: &OnTheBlock, expected: &[Expected], cuts: &[Weighed]) -> Vec<Figure> {
    let out: Grams = cuts.iter().map(|cut| cut.grams).sum();
    let left = block.taken_in - out;
    let figure = |name: &str, grams: Grams| {
        let (value, unit) = grams.figure(shop.system);
        Figure::new(name, value, unit)
    };
    let (_, other) = block.taken_in.both(shop.system);
    let count = if cuts.len() == 1 { "1 cut".to_owned() } else { format!("{} cuts", cuts.len()) };
    let to_come: Decimal = expected
        .iter()
        .filter(|cut| cuts.iter().all(|weighed| weighed.item != cut.item))
        .map(|cut| cut.share.decimal())
        .sum();
    let list = if expected.is_empty() || block.closed {
        String::new()
    } else {
        format!(", the list still expects {}", Percent::new(to_come).text())
    };
    vec![
        figure("Taken in", block.taken_in).beneath(other),
        figure("Weighed out", out).beneath(format!("{} in {count}", Percent::of(out, block.taken_in).text())),
        figure(if block.closed { "Cutting loss" } else { "Still on the block" }, left)
            .beneath(format!("{}{list}", Percent::of(left, block.taken_in).text()))
            .chief(),
    ]
}

/// One share for each kind of cut, in the order in which they were first weighed.
fn mass_bar(shop: &Shop, block: &OnTheBlock, cuts: &[Weighed]) -> MassBar {
    let mut kinds: Vec<(ItemId, &str, Grams)> = Vec::new();
    for cut in cuts {
        match kinds.iter_mut().find(|(item, _, _)| *item == cut.item) {
            Some((_, _, grams)) => *grams += cut.grams,
            None => kinds.push((cut.item, &cut.item_name, cut.grams)),
        }
    }
    let mut start = Grams::ZERO;
    let mut shares = Vec::with_capacity(kinds.len());
    for (nr, (_, name, grams)) in (1..).zip(&kinds) {
        shares.push(share(shop, block.taken_in, nr, name, start, *grams));
        start += *grams;
    }
    let rest = block.taken_in - start;
    let left = (!block.closed).then(|| share(shop, block.taken_in, 0, "on the block", start, rest));
    let said: Vec<String> = shares.iter().chain(&left).map(|s| format!("{} {}", s.name, s.weight)).collect();
    MassBar { label: format!("Shares of the source by weight: {}", said.join(", ")), shares, left }
}

fn share(shop: &Shop, whole: Grams, nr: usize, name: &str, start: Grams, grams: Grams) -> Share {
    Share {
        nr,
        name: name.to_owned(),
        weight: shop.weight(grams),
        percent: Percent::of(grams, whole).text(),
        fits: Share::room(name, Percent::of(grams, whole)),
        start: Percent::of(start, whole).decimal().to_string(),
        width: Percent::of(grams, whole).decimal().to_string(),
        ..Share::default()
    }
}
