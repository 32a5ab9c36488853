//! `/checks/records`: every reading and check, by place or by limit, a leaf at a time.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::super::db::{self, Filter, Record, Verdict};
use super::super::entry::{Value, band};
use super::{Sheet, tabs};
use crate::book::Seq;
use crate::error::{Error, Errors, Result};
use crate::ids::{BatchId, CheckId, DeviationId, LotId, PlaceId};
use crate::setup;
use crate::web::ledger;
use crate::web::parts::{Choice, Paging, State as Mark, Tab};
use crate::web::{App, Area, Frame, Me, Path, Query, page};

/// Lines on one leaf.
const LEAF: usize = 50;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    place: String,
    limit: String,
    out: String,
    before: String,
}

impl Asked {
    fn filter(&self) -> Filter {
        Filter {
            place: self.place.parse().ok(),
            limit: self.limit.parse().ok(),
            out: self.out == "yes",
            before: self.before.parse().ok().map(Seq),
        }
    }

    /// The address of the leaf before an entry, with the same filter.
    fn leaf(&self, before: Option<Seq>) -> String {
        let before = before.map(|seq| seq.to_string()).unwrap_or_default();
        let pairs = [("place", &self.place), ("limit", &self.limit), ("out", &self.out), ("before", &before)];
        let pairs: Vec<_> = pairs.into_iter().filter(|(_, value)| !value.is_empty()).collect();
        format!("/checks/records?{}", serde_html_form::to_string(pairs).unwrap_or_default())
    }
}

struct Row {
    href: String,
    when: String,
    name: String,
    on_href: String,
    coded: bool,
    quantity: &'static str,
    value: String,
    limits: Vec<String>,
    state: Option<Mark>,
    deviation: String,
    instrument: String,
    initials: String,
    person: String,
    struck: bool,
}

#[derive(Template)]
#[template(path = "checks/records.html")]
struct RecordsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    asked: Asked,
    errors: Errors,
    places: Vec<Choice>,
    limits: Vec<Choice>,
    rows: Vec<Row>,
    paging: Paging,
}

/// GET `/checks/records`
pub async fn page(State(app): State<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let mut conn = app.db().await?;
    let filter = asked.filter();
    // One more than the leaf shows whether there is another.
    let more = i64::try_from(LEAF + 1).map_err(anyhow::Error::from)?;
    let mut records = db::records(&mut conn, filter, more).await?;
    let goes_on = records.len() > LEAF;
    records.truncate(LEAF);
    let seqs: Vec<Seq> = records.iter().map(|record| record.seq).collect();
    let verdicts = db::verdicts(&mut conn, &seqs).await?;
    let rows = records.iter().map(|record| row(&me, record, &verdicts)).collect::<Result<_>>()?;
    let places = setup::places(&mut conn).await?;
    let limits = db::limits(&mut conn).await?;
    let older = seqs.last().filter(|_| goes_on).map(|seq| asked.leaf(Some(*seq))).unwrap_or_default();
    let newer = if filter.before.is_some() { asked.leaf(None) } else { String::new() };
    let page = RecordsPage {
        frame: Frame::new(&app, &me, Area::Checks),
        tabs: tabs(&mut conn, Sheet::Records).await?,
        asked,
        errors: Errors::default(),
        places: places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect(),
        limits: limits.iter().map(|limit| Choice::new(limit.limit, limit.name.clone())).collect(),
        rows,
        paging: Paging { newer, older, words: String::new() },
    };
    page::show(StatusCode::OK, &page)
}

/// GET `/checks/records/{id}`: a check is a line of the book; its page is that line's.
pub async fn one(State(app): State<App>, _me: Me, Path(id): Path<CheckId>) -> Result<Response> {
    let seq = db::seq_of_check(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    page::goto(&format!("/entries/{seq}"))
}

fn row(me: &Me, record: &Record, verdicts: &[Verdict]) -> Result<Row> {
    let own: Vec<&Verdict> = verdicts.iter().filter(|verdict| verdict.seq == record.seq).collect();
    let value = Value::of(record.quantity, record.value).map_err(anyhow::Error::from)?;
    let state = match own.iter().all(|verdict| verdict.met) {
        _ if own.is_empty() => None,
        true => Some(Mark::new("met", "met")),
        false => Some(Mark::new("out", "out of limits")),
    };
    Ok(Row {
        href: format!("/entries/{}", record.seq),
        when: ledger::moment(me, record.at),
        name: record.name.clone(),
        on_href: on_href(record),
        coded: record.place.is_none(),
        quantity: record.quantity.name(),
        value: value.text(me.shop.system),
        limits: own.iter().map(|verdict| limit(me, record, verdict)).collect::<Result<_>>()?,
        state,
        deviation: record.deviation.map(|id| DeviationId(id).path()).unwrap_or_default(),
        instrument: record.instrument.clone(),
        initials: record.initials.clone(),
        person: record.person.clone(),
        struck: record.struck,
    })
}

/// `Coolers: at most 4.0 °C, met`
fn limit(me: &Me, record: &Record, verdict: &Verdict) -> Result<String> {
    let value = |end: Option<rust_decimal::Decimal>| {
        end.map(|end| Value::of(record.quantity, end)).transpose().map_err(anyhow::Error::from)
    };
    let band = band(value(verdict.least)?, value(verdict.most)?, me.shop.system);
    let word = if verdict.met { "met" } else { "not met" };
    Ok(format!("{}: {band}, {word}", verdict.limit_name))
}

fn on_href(record: &Record) -> String {
    let place = record.place.map(|id| PlaceId(id).path());
    let lot = || record.lot.map(|id| LotId(id).path());
    place.or_else(lot).or_else(|| record.batch.map(|id| BatchId(id).path())).unwrap_or_default()
}
