//! `/dispatch/pack`: choose what is packed, then weigh its packs and sign them together.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::Leaving;
use super::super::entry::lines::{self, MOST, Part};
use super::super::entry::pack::{self, DateWord, LotPacked, MOST_PACKS, Pack};
use super::tabs;
use crate::book::{Form as LotForm, Pen};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{LotId, PlaceId};
use crate::measure::{Grams, LotCode, UnitSystem};
use crate::rights::Right;
use crate::rights::needs::Dispatch;
use crate::setup::{self, entry::PlaceKind};
use crate::web::parts::{Choice, Figure, Tab};
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

/// How many lots the page offers to pack.
const OFFERED: i64 = 200;
/// How many lines a fresh form has.
const FRESH: usize = 3;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Which {
    /// Its code.
    lot: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PackForm {
    /// What is packed, by its id.
    lot: String,
    /// "add" or "sign"; which button it was.
    act: String,
    // So many packs of such a weight, line by line.
    count: Vec<String>,
    weight: Vec<String>,
    weight_unit: Vec<String>,
    loss: String,
    loss_unit: String,
    /// Nothing is left of it.
    rest: String,
    place: String,
    date_word: String,
    use_by: String,
    keep: String,
    origin: String,
    handling: String,
    when: String,
}

/// What the form says, before the book is asked.
struct Typed {
    lot: LotId,
    weights: Vec<Grams>,
    loss: Option<Grams>,
    /// All that is not in packs is loss.
    rest: bool,
    place: PlaceId,
    date_word: Option<DateWord>,
    use_by: Option<time::Date>,
    keep: String,
    origin: String,
    handling: bool,
    when: Option<time::OffsetDateTime>,
}

impl PackForm {
    fn fresh(shop: &Shop, from: &Leaving, place: &str) -> Self {
        let small = shop.system.small_weight_unit().symbol().to_owned();
        let raw = from.lot.form != LotForm::Piece;
        let keep = match shop.system {
            UnitSystem::Metric => "Keep refrigerated at or below 4 °C",
            // 9 CFR 317.2(k) asks for the words, not for a figure; 40 °F is the usual one.
            UnitSystem::Us => "Keep refrigerated at or below 40 °F",
        };
        Self {
            lot: from.lot.id.to_string(),
            count: vec!["1".into(); FRESH],
            weight: vec![String::new(); FRESH],
            weight_unit: vec![small.clone(); FRESH],
            loss_unit: small,
            place: place.to_owned(),
            date_word: if raw { DateWord::UseBy } else { DateWord::BestBefore }.word().to_owned(),
            keep: keep.into(),
            handling: if raw && shop.system == UnitSystem::Us { "yes".into() } else { String::new() },
            ..Self::default()
        }
    }

    fn grow(&mut self) {
        let length = (self.weight.len() + 1).min(MOST);
        let unit = self.weight_unit.last().cloned().unwrap_or_default();
        self.count.resize(length, "1".into());
        self.weight.resize(length, String::new());
        self.weight_unit.resize(length, unit);
        self.act.clear();
    }

    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let lot = read.value("lot", &self.lot, "Choose what is packed.");
        let weights = self.read_weights(&mut read);
        let loss = if self.loss.trim().is_empty() {
            Some(None)
        } else {
            read.small_weight("loss", &self.loss, &self.loss_unit).map(Some)
        };
        let rest = self.rest == "yes";
        if rest && loss.flatten().is_some() {
            read.refuse("loss", "Leave this empty, or do not say below that nothing is left.");
        }
        let place = read.value("place", &self.place, "Choose where the packs are put.");
        let use_by = read.maybe_date("use_by", &self.use_by);
        let date_word = read.maybe("date_word", &self.date_word, "Choose the word before the date.");
        let keep = read.line_or_empty("keep", &self.keep);
        let origin = read.line_or_empty("origin", &self.origin);
        let when = read.when(&self.when);
        read.finish(|| {
            let use_by = use_by?;
            Some(Typed {
                lot: lot?,
                weights: weights?,
                loss: loss?,
                rest,
                place: place?,
                // Without a date there is nothing for the word to stand before.
                date_word: date_word?.filter(|_| use_by.is_some()),
                use_by,
                keep: keep?,
                origin: origin?,
                handling: self.handling == "yes",
                when: when?,
            })
        })
    }

    /// One weight a pack. A line without a weight is left out.
    fn read_weights(&self, read: &mut Reader) -> Option<Vec<Grams>> {
        let mut weights = Vec::new();
        let mut whole = true;
        for (n, text) in self.weight.iter().take(MOST).enumerate().filter(|(_, text)| !text.trim().is_empty())
        {
            let unit = self.weight_unit.get(n).map_or("", String::as_str);
            let weight = read.small_weight(lines::field(Part::Weight, n), text, unit);
            let count = self.count.get(n).map_or("1", String::as_str);
            let most = u16::try_from(MOST_PACKS).unwrap_or(u16::MAX);
            let count = read.count(lines::field(Part::Count, n), count, 1, most);
            match (weight, count) {
                (Some(weight), Some(count)) => {
                    weights.extend(std::iter::repeat_n(weight, usize::from(count)))
                }
                _ => whole = false,
            }
        }
        if whole && weights.is_empty() {
            read.refuse(lines::field(Part::Weight, 0), "Weigh at least one pack.");
        }
        whole.then_some(weights)
    }
}

/// A line of the form, as the page shows it.
struct PackLine {
    number: usize,
    count: String,
    weight: String,
    weight_unit: String,
    count_field: &'static str,
    weight_field: &'static str,
}

#[derive(Template)]
#[template(path = "dispatch/pack.html")]
struct PackPage {
    frame: Frame,
    form_id: Uuid,
    form: PackForm,
    errors: Errors,
    code: String,
    href: String,
    name: String,
    figures: Vec<Figure>,
    left: String,
    lines: Vec<PackLine>,
    places: Vec<Choice>,
    words: Vec<Choice>,
    raw: bool,
    may: bool,
}

#[derive(Template)]
#[template(path = "dispatch/choose.html")]
struct ChoosePage {
    frame: Frame,
    tabs: Vec<Tab>,
    lot: String,
    errors: Errors,
    packable: Vec<Choice>,
}

/// GET `/dispatch/pack?lot=CODE`
pub async fn page(State(app): State<App>, me: Me, Query(which): Query<Which>) -> Result<Response> {
    if which.lot.trim().is_empty() {
        return choose(&app, &me, StatusCode::OK, which, Errors::default()).await;
    }
    let found = match which.lot.parse::<LotCode>() {
        Ok(code) => db::leaving_of(&mut *app.db().await?, &code).await?.ok_or("No lot has this code.".into()),
        Err(why) => Err(why.to_string()),
    };
    match found.map_err(|why| Refusal::at("lot", why)).and_then(packable) {
        Ok(from) => ask(&app, &me, StatusCode::OK, from.lot.id, None, Errors::default()).await,
        Err(refusal) => choose(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, which, refusal.into()).await,
    }
}

/// The first look at a lot; signing looks again.
fn packable(from: Leaving) -> Result<Leaving, Refusal> {
    from.lot.usable("lot")?;
    from.for_sale("lot")?;
    from.something_left("lot")?;
    Ok(from)
}

/// POST `/dispatch/pack`
pub async fn sign_or_draft(
    State(app): State<App>,
    me: Signer<Dispatch>,
    form: Form<PackForm>,
) -> Result<Response> {
    let lot: LotId = form.lot.parse().map_err(|_| Error::NotFound)?;
    if form.act == "add" {
        let mut fields = form.fields;
        fields.grow();
        return ask(&app, &me, StatusCode::OK, lot, Some(fields), Errors::default()).await;
    }
    match sign(&app, &me, &form).await {
        Ok(entry) => page::goto(&format!("/dispatch/packs/{entry}")),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, lot, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<PackForm>) -> Result<Uuid> {
    let typed = form.read(&me.shop)?;
    let entry = form.once.id()?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(entry) };
    let from = db::leaving(&mut pen, &[typed.lot]).await?.pop().ok_or(Error::NotFound)?;
    let today = me.shop.date(pen.next().happened_at);
    let packed = lot_packed(&mut pen, &from, typed).await?;
    pen.append(pack::pack(packed, &from, today, &me.shop.say())?).await?;
    pen.commit().await?;
    Ok(entry)
}

/// Fills in what the book knows: the names, the tags that the packs get, and what is left of the source.
async fn lot_packed(pen: &mut Pen, from: &Leaving, typed: Typed) -> Result<LotPacked> {
    let place = setup::place(pen, typed.place).await?;
    let place = place.ok_or_else(|| Refusal::at("place", "There is no such place."))?;
    let entry = pen.next().id;
    let first = pen.next_piece(&from.lot.code).await?;
    let mut packs = Vec::with_capacity(typed.weights.len());
    for (n, weight) in typed.weights.into_iter().enumerate() {
        let number = u16::try_from(n).ok().and_then(|n| first.checked_add(n)).unwrap_or(u16::MAX);
        let code = from.lot.code.piece(number).map_err(anyhow::Error::from)?;
        packs.push(Pack { lot: LotId::nth(entry, n), code, weight });
    }
    let left = from.lot.grams - packs.iter().map(|pack| pack.weight).sum();
    let loss = if typed.rest { Some(left).filter(|left| left.is_positive()) } else { typed.loss };
    Ok(LotPacked {
        source: from.lot.named(),
        item: crate::ids::Named::new(from.lot.item, from.lot.item_name.clone()),
        packs,
        loss,
        place: place.named(),
        use_by: typed.use_by,
        date_word: typed.date_word,
        keep: typed.keep,
        origin: typed.origin,
        handling: typed.handling,
    })
}

async fn choose(app: &App, me: &Me, status: StatusCode, which: Which, errors: Errors) -> Result<Response> {
    let packable = db::packable(&mut *app.db().await?, OFFERED).await?;
    let packable = packable.into_iter().map(|row| {
        let note = format!("{}, {}", row.form.word(), me.shop.weight(row.grams));
        Choice::new(row.code, format!("{} {}", row.code, row.item_name)).note(note)
    });
    let page = ChoosePage {
        frame: Frame::new(app, me, Area::Dispatch),
        tabs: tabs("/dispatch/pack"),
        lot: which.lot,
        errors,
        packable: packable.collect(),
    };
    page::show(status, &page)
}

/// The one place that draws the page of one source.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    lot: LotId,
    form: Option<PackForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let from = db::leaving(&mut conn, &[lot]).await?.pop().ok_or(Error::NotFound)?;
    let places = setup::places(&mut conn).await?;
    let counter = places.iter().find(|place| place.kind == PlaceKind::Counter);
    let counter = counter.map(|place| place.id.to_string()).unwrap_or_default();
    let form = form.unwrap_or_else(|| PackForm::fresh(&me.shop, &from, &counter));
    let (value, unit) = from.lot.grams.figure(me.shop.system);
    let (_, other) = from.lot.grams.both(me.shop.system);
    let text = |list: &[String], n: usize| list.get(n).cloned().unwrap_or_default();
    let lines = (0..form.weight.len().clamp(1, MOST)).map(|n| PackLine {
        number: n + 1,
        count: text(&form.count, n),
        weight: text(&form.weight, n),
        weight_unit: text(&form.weight_unit, n),
        count_field: lines::field(Part::Count, n),
        weight_field: lines::field(Part::Weight, n),
    });
    let page = PackPage {
        frame: Frame::new(app, me, Area::Dispatch),
        form_id: fresh_id(),
        lines: lines.collect(),
        form,
        errors,
        code: from.lot.code.to_string(),
        href: from.lot.id.path(),
        name: from.description.clone(),
        figures: vec![Figure::new("On hand", value, unit).beneath(other).chief()],
        left: from.lot.grams.to_string(),
        places: places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect(),
        words: DateWord::ALL.iter().map(|word| Choice::new(word.word(), word.word())).collect(),
        raw: from.lot.form != LotForm::Piece,
        may: me.may(Right::Dispatch),
    };
    page::show(status, &page)
}
