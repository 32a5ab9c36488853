//! `/limits`: whose limits the shop holds itself to, and every limit of them on a day.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use time::Date;
use uuid::Uuid;

use super::NOT_SAID;
use crate::error::{Error, Errors, Result};
use crate::limits::db::{self, Switch};
use crate::limits::entry::{CuringLimitWritten, LimitsAdopted, band};
use crate::measure::{day_year, input_day, parse_day};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::standards::limits::{Jurisdiction, Limit, Mark, shipped};
use crate::web::parts::{Choice, State as Word};
use crate::web::{App, Area, Form, Frame, Me, Query, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct OnDay {
    day: String,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct AdoptForm {
    jurisdiction: String,
}

impl AdoptForm {
    fn read(&self, shop: &Shop) -> Result<Jurisdiction, Errors> {
        let mut read = Reader::new(shop);
        let jurisdiction = read.value("jurisdiction", &self.jurisdiction, "Choose whose limits they are.");
        read.finish(|| jurisdiction)
    }
}

/// A limit as the list shows it.
pub struct Row {
    pub href: String,
    pub name: String,
    pub band: String,
    /// "of the meat block, as NaNO2"
    pub base: String,
    /// "dry cured; bacon"
    pub scope: String,
    pub citation: String,
    pub said: String,
    /// "read" or "to be confirmed".
    pub mark: &'static str,
    pub state: Word,
    /// "from 9 Oct 2025"
    pub days: String,
}

#[derive(Template)]
#[template(path = "limits/index.html")]
struct IndexPage {
    frame: Frame,
    form_id: Uuid,
    form: AdoptForm,
    errors: Errors,
    jurisdictions: Vec<Choice>,
    /// The set's name; empty as long as none is adopted.
    adopted: &'static str,
    note: String,
    day: String,
    said_day: String,
    none: Errors,
    rows: Vec<Row>,
    own: Vec<Row>,
    not_said: &'static str,
    may_keep: bool,
}

/// GET `/limits?day`
pub async fn page(State(app): State<App>, me: Me, Query(on): Query<OnDay>) -> Result<Response> {
    let day = parse_day(&on.day).unwrap_or_else(|_| me.today());
    ask(&app, &me, StatusCode::OK, AdoptForm::default(), Errors::default(), day).await
}

/// POST `/limits`
pub async fn adopt(State(app): State<App>, me: Signer<Keep>, form: Form<AdoptForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/limits"),
        Err(Error::Form(errors)) => {
            let today = me.today();
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors, today).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<AdoptForm>) -> Result<()> {
    let jurisdiction = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(LimitsAdopted { jurisdiction }).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    mut form: AdoptForm,
    errors: Errors,
    day: Date,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let adopted = db::adopted(&mut conn, me.now).await?;
    let switches = db::switches(&mut conn).await?;
    let own = db::own(&mut conn).await?;
    let set = adopted.map(shipped).transpose().map_err(anyhow::Error::from)?;
    if form.jurisdiction.is_empty() {
        form.jurisdiction = adopted.map(|one| one.word().to_owned()).unwrap_or_default();
    }
    let limits = set.as_ref().map(|set| set.limits.as_slice()).unwrap_or_default();
    let page = IndexPage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form,
        errors,
        jurisdictions: Jurisdiction::ALL.iter().map(|one| Choice::new(one.word(), one.word())).collect(),
        adopted: adopted.map(Jurisdiction::word).unwrap_or_default(),
        note: set.as_ref().map(|set| set.note.clone()).unwrap_or_default(),
        day: input_day(day),
        said_day: day_year(day),
        none: Errors::default(),
        rows: limits.iter().map(|limit| of_list(limit, &switches, day)).collect(),
        own: own.iter().map(|limit| of_own(limit, day)).collect(),
        not_said: NOT_SAID,
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}

fn of_list(limit: &Limit, switches: &[Switch], day: Date) -> Row {
    let on = switches.iter().find(|one| one.key == limit.key && one.on);
    let href = format!("/limits/rows/{}", limit.key);
    let shown = row(limit, href, standing(limit, on.is_some(), day));
    match on {
        Some(switch) if limit.mark == Mark::ToBeConfirmed => {
            Row { citation: limit.clone().confirmed(&switch.document).citation, mark: "confirmed", ..shown }
        }
        _ => shown,
    }
}

fn of_own(own: &CuringLimitWritten, day: Date) -> Row {
    let limit = own.as_limit();
    let state = match (own.retired, own.instead_of.is_empty()) {
        (true, _) => Word::new("gone", "laid aside"),
        (false, false) if limit.holds_on(day) => {
            Word::new("late", "in force, looser than the adopted limits")
        }
        _ => standing(&limit, true, day),
    };
    Row { said: own.reason.clone(), ..row(&limit, own.limit.path(), state) }
}

/// How a row stands on a day.
pub fn standing(limit: &Limit, on: bool, day: Date) -> Word {
    match (limit.holds_on(day), limit.waits() && !on) {
        (false, _) => Word::new("gone", "not on this day"),
        (true, true) if limit.mark == Mark::ToBeConfirmed => Word::new("wait", "off until confirmed"),
        (true, true) => Word::new("wait", "off until taken up"),
        (true, false) => Word::new("met", "in force"),
    }
}

fn row(limit: &Limit, href: String, state: Word) -> Row {
    Row {
        href,
        name: limit.name.clone(),
        band: band(limit),
        base: format!("{}, {}", limit.base.words(), limit.stated.word()),
        scope: scope(limit),
        citation: limit.citation.clone(),
        said: limit.said.clone(),
        mark: limit.mark.word(),
        state,
        days: days(limit),
    }
}

/// "dry cured; bacon", "every method; not bacon"
pub fn scope(limit: &Limit) -> String {
    let join = |words: Vec<&str>| words.join(", ");
    let ways = if limit.ways.is_empty() {
        "every method".to_owned()
    } else {
        join(limit.ways.iter().map(|way| way.word()).collect())
    };
    let products = join(limit.products.iter().map(|product| product.word()).collect());
    let left_out = join(limit.not_for.iter().map(|product| product.word()).collect());
    let not = if left_out.is_empty() { String::new() } else { format!("not {left_out}") };
    let measured = if limit.measured == crate::standards::limits::Measured::Ingoing {
        ""
    } else {
        limit.measured.word()
    };
    let parts = [measured, &ways, &products, &not];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
}

/// "from 9 Oct 2025", "to 8 Oct 2025"; empty where it has neither.
pub fn days(limit: &Limit) -> String {
    let from = limit.from.map(|day| format!("from {}", day_year(day)));
    let until = limit.until.map(|day| format!("to {}", day_year(day)));
    from.into_iter().chain(until).collect::<Vec<_>>().join(" ")
}
