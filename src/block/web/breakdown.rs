//! `/block/breakdowns/{id}`: weigh the next cut, beside the live balance and the lines that are signed; once it is
//! closed, its result.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::super::db::{self, Expected, Weighed};
use super::super::entry::{self, CutLot, CutWeighed, GoesTo, OnTheBlock};
use super::balance::{self, Balance};
use super::closing::CloseForm;
use super::heading::{From, Heading};
use super::{picks, result};
use crate::book::db::Read;
use crate::book::{self, Entry, Pen};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BreakdownId, ItemId, LotId, PlaceId};
use crate::measure::{Grams, Percent};
use crate::rights::Right;
use crate::rights::needs::Cut;
use crate::setup;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Fact, Figure, Line, MassBar};
use crate::web::{App, Area, Form, Frame, Me, Path, Query, Reader, Shop, Signer, fresh_id, page};

/// How many lines of the book the page shows.
pub const LINES: i64 = 200;

/// A line that was signed less than this ago is marked.
const FRESH: Duration = Duration::minutes(2);

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct WeighForm {
    cut: String,
    weight: String,
    weight_unit: String,
    pieces: String,
    goes_to: String,
    fat: String,
    place: String,
    when: String,
}

/// What the form says, before the book is asked.
struct Typed {
    item: ItemId,
    weight: Grams,
    pieces: u16,
    /// None: as the cut list says.
    goes_to: Option<GoesTo>,
    fat: Option<Percent>,
    /// None: where such cuts went last time.
    place: Option<PlaceId>,
    when: Option<OffsetDateTime>,
}

impl WeighForm {
    fn fresh(me: &Me, expected: &[Expected], cuts: &[Weighed], place: &str) -> Self {
        let next = expected.iter().find(|cut| cuts.iter().all(|weighed| weighed.item != cut.item));
        Self {
            cut: next.map(|cut| cut.item.to_string()).unwrap_or_default(),
            goes_to: if expected.is_empty() { String::new() } else { picks::AS_LISTED.into() },
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
        let goes_to = match self.goes_to.as_str() {
            picks::AS_LISTED => Some(None),
            word => read.value("goes_to", word, "Say where it goes.").map(Some),
        };
        let fat = read.maybe_percent("fat", &self.fat);
        if fat.flatten().is_some_and(|fat| fat > Percent::HUNDRED) {
            read.refuse("fat", "Choose a class, or none.");
        }
        let place = read.maybe("place", &self.place, "Choose the place.");
        let when = read.when(&self.when);
        read.finish(|| {
            Some(Typed {
                item: item?,
                weight: weight?,
                pieces: pieces?,
                goes_to: goes_to?,
                fat: fat?,
                place: place?,
                when: when?,
            })
        })
    }
}

/// What was typed on one of the two forms of the page, and what is wrong with it.
#[derive(Default)]
pub struct Asked {
    pub weigh: Option<WeighForm>,
    pub errors: Errors,
    pub close: CloseForm,
    pub close_errors: Errors,
}

#[derive(Template)]
#[template(path = "block/breakdown.html")]
struct BreakdownPage {
    frame: Frame,
    id: BreakdownId,
    head: Heading,
    form_id: Uuid,
    form: WeighForm,
    errors: Errors,
    close_id: Uuid,
    close: CloseForm,
    close_errors: Errors,
    figures: Vec<Figure>,
    bar: MassBar,
    lines: Vec<Line>,
    further: Vec<Fact>,
    cuts: Vec<Choice>,
    others: Vec<Choice>,
    /// The cut that is picked is not one of the list.
    other_picked: bool,
    goes_to: Vec<Choice>,
    fats: Vec<Choice>,
    places: Vec<Choice>,
    remembered: String,
    /// Grams on the block, for the weight that would be left.
    left: String,
    /// What would be written as the cutting loss by closing now.
    loss_now: String,
    tolerance: String,
    /// The weight is the next thing to be typed.
    focus: bool,
    may_cut: bool,
}

/// GET `/block/breakdowns/{id}`
pub async fn page(
    State(app): State<App>,
    me: Me,
    Path(id): Path<BreakdownId>,
    Query(switch): Query<result::Switch>,
) -> Result<Response> {
    if let Some(page) = result::show(&app, &me, StatusCode::OK, id, &switch, Errors::default()).await? {
        return Ok(page);
    }
    ask(&app, &me, StatusCode::OK, id, Asked::default()).await
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
            let asked = Asked { weigh: Some(form.fields), errors, ..Asked::default() };
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, asked).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BreakdownId, form: &Form<WeighForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let block = db::on_the_block(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let item = setup::item(&mut pen, typed.item).await?.filter(|item| picks::CUT_FORMS.contains(&item.form));
    let item = item.ok_or_else(|| Refusal::at("cut", "There is no such cut."))?;
    let cut = cut_weighed(&mut pen, &block, &item, typed).await?;
    pen.append(entry::weigh(cut, item.form, &block, &me.shop.say())?).await?;
    pen.commit().await
}

/// Fills in what the book knows: the names, where such a cut goes, and the tag that it gets.
async fn cut_weighed(
    pen: &mut Pen,
    block: &OnTheBlock,
    item: &setup::Item,
    typed: Typed,
) -> Result<CutWeighed> {
    let goes_to = match typed.goes_to {
        Some(goes_to) => goes_to,
        None => goes_as_listed(pen, block.breakdown, item).await?,
    };
    let lot = if goes_to == GoesTo::Waste {
        None
    } else {
        let place = place_of(pen, typed.place, goes_to).await?;
        let code = block.source.code.piece(pen.next_piece(&block.source.code).await?);
        let code = code.map_err(anyhow::Error::from)?;
        Some(CutLot { id: LotId::made_by(pen.next().id), code, form: item.form, place: place.named() })
    };
    Ok(CutWeighed {
        breakdown: block.breakdown,
        source: block.source.id,
        lot,
        item: item.named(),
        weight: typed.weight,
        pieces: typed.pieces,
        goes_to,
        fat: typed.fat,
    })
}

async fn goes_as_listed(pen: &mut Pen, id: BreakdownId, item: &setup::Item) -> Result<GoesTo> {
    let expected = db::expected(pen, id).await?;
    let listed = expected.iter().find(|cut| cut.item == item.id).and_then(|cut| cut.goes_to.parse().ok());
    let message = || format!("{} is not on the cut list. Say where it goes.", item.name);
    listed.ok_or_else(|| Refusal::at("goes_to", message()).into())
}

async fn place_of(pen: &mut Pen, typed: Option<PlaceId>, goes_to: GoesTo) -> Result<setup::Place> {
    let id = match typed {
        Some(place) => place,
        None => *db::places_of_last_time(pen).await?.get(goes_to.word()).ok_or_else(|| {
            Refusal::at("place", format!("Nothing went to {} before. Choose the place.", goes_to.word()))
        })?,
    };
    let place = setup::place(pen, id).await?;
    place.ok_or_else(|| Refusal::at("place", "There is no such place.").into())
}

/// The one place that draws this page.
pub async fn ask(app: &App, me: &Me, status: StatusCode, id: BreakdownId, asked: Asked) -> Result<Response> {
    let Asked { weigh, errors, close, close_errors } = asked;
    let mut conn = app.db().await?;
    let block = db::on_the_block(&mut conn, id).await?.ok_or(Error::NotFound)?;
    if block.closed {
        let errors = if errors.is_empty() { close_errors } else { errors };
        let page = result::show(app, me, status, id, &result::Switch::default(), errors).await?;
        return page.ok_or(Error::NotFound);
    }
    let from = From::of(&mut conn, &block).await?;
    let expected = db::expected(&mut conn, id).await?;
    let cuts = db::cuts(&mut conn, id).await?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let items = setup::items(&mut conn, &picks::CUT_FORMS).await?;
    let places = setup::places(&mut conn).await?;
    let last = db::places_of_last_time(&mut conn).await?;
    let focus = weigh.is_none() && close_errors.is_empty();
    let form = weigh.unwrap_or_else(|| WeighForm::fresh(me, &expected, &cuts, &first_place(&last, &places)));
    let balance = Balance::of(&block, &cuts, None);
    let others =
        if expected.is_empty() { Vec::new() } else { picks::others(&me.shop, &expected, &cuts, &items) };
    let page = BreakdownPage {
        frame: Frame::new(app, me, Area::Block),
        id,
        head: Heading::of(me, &block, &from),
        form_id: fresh_id(),
        other_picked: others.iter().any(|choice| choice.value == form.cut),
        form,
        errors,
        close_id: fresh_id(),
        close,
        close_errors,
        figures: balance::figures(&me.shop, &balance, &expected, &cuts),
        bar: balance::mass_bar(&me.shop, &balance, &cuts),
        lines: lines(app, me, &entries, &balance, &cuts)?,
        further: picks::further(&me.shop, &cuts),
        cuts: picks::listed(&me.shop, &expected, &cuts, &items),
        others,
        goes_to: picks::uses(!expected.is_empty()),
        fats: picks::fats(),
        places: places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect(),
        remembered: picks::remembered(&last, &places),
        left: block.source.grams.decimal().to_string(),
        loss_now: format!(
            "{}, {} of what was taken in",
            balance::exact(&me.shop, balance.left),
            balance.share(balance.left).text_places(2)
        ),
        tolerance: block.tolerance.text(),
        focus,
        may_cut: me.may(Right::Cut),
    };
    page::show(status, &page)
}

/// The first cooler, until the shop has put something somewhere; then left open, which is where such cuts went last.
fn first_place(last: &BTreeMap<String, PlaceId>, places: &[setup::Place]) -> String {
    let cooler = places.iter().find(|place| place.kind == setup::entry::PlaceKind::Cooler);
    cooler.filter(|_| last.is_empty()).map(|place| place.id.to_string()).unwrap_or_default()
}

/// The lines of the book, each cut with its share of what was taken in.
pub fn lines(app: &App, me: &Me, entries: &[Read], balance: &Balance, cuts: &[Weighed]) -> Result<Vec<Line>> {
    let fresh = entries.iter().find(|entry| entry.struck.is_none()).filter(|entry| {
        entry.kind == CutWeighed::KIND
            && entry.at.person == me.person.id
            && me.now - entry.at.recorded_at < FRESH
    });
    let style =
        Style { strike: me.may(Right::Cut), fresh: fresh.map(|entry| entry.at.seq), ..Style::default() };
    let mut lines = ledger::lines(&app.book.kinds, me, entries, style)?;
    for (line, entry) in lines.iter_mut().zip(ledger::shown(entries)) {
        if let Some(cut) = cuts.iter().find(|cut| cut.seq == entry.at.seq) {
            line.second = balance.share(cut.grams).text();
        }
    }
    Ok(lines)
}
