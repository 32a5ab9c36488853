//! `/loggers/drafts/{id}`: a file as it is understood, before it is signed.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::columns::Columns;
use super::super::db::{self, Draft};
use super::super::entry::Sample;
use super::super::moment::Order;
use super::super::take::{self, Brought, Taken};
use super::reading::{self, ColumnsForm, Reading};
use crate::checks::{self, Quantity};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::ImportId;
use crate::rights::needs::Check;
use crate::setup;
use crate::web::parts::{Choice, Fact, Notice};
use crate::web::{App, Area, Form, Frame, Me, Path, Signer, Touched, fresh_id, ledger, page};

/// How many moments the page shows.
const SHOWN: usize = 8;

struct Row {
    when: String,
    temperature: String,
    humidity: String,
}

#[derive(Template)]
#[template(path = "loggers/draft.html")]
struct DraftPage {
    frame: Frame,
    id: Uuid,
    form_id: Uuid,
    form: ColumnsForm,
    errors: Errors,
    notices: Vec<Notice>,
    facts: Vec<Fact>,
    rows: Vec<Row>,
    columns: Vec<Choice>,
    orders: Vec<Choice>,
    told: Vec<Choice>,
    units: Vec<Choice>,
    marks: Vec<Choice>,
    can_sign: bool,
}

/// GET `/loggers/drafts/{id}`
pub async fn page(State(app): State<App>, me: Signer<Check>, Path(id): Path<Uuid>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default(), None).await
}

/// POST `/loggers/drafts/{id}`: signs the samples, or only shows them again.
pub async fn sign(
    State(app): State<App>,
    me: Signer<Check>,
    Path(id): Path<Uuid>,
    form: Form<ColumnsForm>,
) -> Result<Response> {
    if form.act == "look" {
        return ask(&app, &me, StatusCode::OK, id, Some(form.fields), Errors::default(), None).await;
    }
    match take(&app, &me, id, &form).await {
        Ok(Ended::At(path)) => page::goto(&path),
        Ok(Ended::Known(count)) => {
            let text = format!(
                "All {count} samples of it are in the book already, with the same values. Nothing was written."
            );
            let notice = Some(Notice::new("met", text));
            ask(&app, &me, StatusCode::OK, id, Some(form.fields), Errors::default(), notice).await
        }
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors, None).await
        }
        Err(other) => Err(other),
    }
}

enum Ended {
    At(String),
    /// So many samples, all known.
    Known(usize),
}

async fn take(app: &App, me: &Me, id: Uuid, form: &Form<ColumnsForm>) -> Result<Ended> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else {
        return Ok(Ended::At(ImportId::made_by(form.once.id()?).path()));
    };
    let draft = db::draft(&mut pen, id, me.person.id).await?.ok_or(Error::NotFound)?;
    let place = setup::place(&mut pen, draft.place).await?.ok_or(Error::NotFound)?.named();
    let read = reading::read(&draft.body, Some(form.read()?), |_| None, &me.shop.zone, me.shop.system)?;
    let understood = read.understood?;
    let brought = Brought {
        place,
        source: draft.name,
        logger: None,
        samples: understood.samples,
        blank: understood.blank,
    };
    let place = brought.place.id;
    let taken = take::take(&mut pen, brought, me.shop.system).await?;
    let remembered = serde_json::to_string(&read.columns).map_err(anyhow::Error::from)?;
    db::remember(&mut pen, &read.header, &remembered).await?;
    let ended = match &taken {
        Taken { import: None, skipped: 0, .. } => {
            return Err(Refusal::at("file", "There is no sample in it.").into());
        }
        // Nothing is written, so the form's number stays free: it can still be sent when the columns were the mistake.
        Taken { import: None, skipped, .. } => return Ok(Ended::Known(*skipped)),
        Taken { deviations, import: Some((import, _)), .. } => {
            deviations.first().map_or_else(|| import.path(), crate::ids::DeviationId::path)
        }
    };
    db::forget(&mut pen, id).await?;
    app.after(&mut pen, me, Touched::Place(place)).await?;
    pen.commit().await?;
    Ok(Ended::At(ended))
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: Uuid,
    form: Option<ColumnsForm>,
    mut errors: Errors,
    notice: Option<Notice>,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let draft = db::draft(&mut conn, id, me.person.id).await?.ok_or(Error::NotFound)?;
    let place = setup::place(&mut conn, draft.place).await?.ok_or(Error::NotFound)?;
    let chosen = match form.as_ref().map(ColumnsForm::read) {
        Some(Err(why)) if errors.is_empty() => {
            errors = why;
            None
        }
        Some(read) => read.ok(),
        None => None,
    };
    let known = db::columns_of(&mut conn, &reading::header(&draft.body)?).await?;
    let known: Option<Columns> = known.and_then(|text| serde_json::from_str(&text).ok());
    let read = reading::read(&draft.body, chosen, |_| known.clone(), &me.shop.zone, me.shop.system)?;
    let samples = match &read.understood {
        Ok(understood) => understood.samples.as_slice(),
        Err(_) => &[],
    };
    let mut notices: Vec<Notice> = notice.into_iter().collect();
    if !read.sure {
        let text = "Its dates can be read with the day or the month first. Look at the first lines below before signing.";
        notices.push(Notice::new("late", text));
    }
    for quantity in [Quantity::Temperature, Quantity::Humidity] {
        let against = checks::limits_of_place(&mut conn, draft.place, quantity).await?;
        if let Some(worst) = take::worst(samples, &against, quantity) {
            let bands: Vec<String> = against.iter().map(|limit| limit.band(me.shop.system)).collect();
            let text = format!(
                "{} at {} is past the limit, {}. Signing writes a check out of limits and opens a deviation, unless one stands open.",
                worst.value.text(me.shop.system),
                ledger::moment(me, worst.at),
                bands.join(" and ")
            );
            notices.push(Notice::new("out", text));
        }
    }
    let facts = facts(me, &draft, &place.name, &read, samples);
    let can_sign = read.understood.is_ok();
    if let (Err(why), true) = (&read.understood, errors.is_empty()) {
        errors = why.clone();
    }
    let page = DraftPage {
        frame: Frame::new(app, me, Area::Hanging),
        id,
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| ColumnsForm::of(&read.columns)),
        errors,
        notices,
        facts,
        rows: rows(me, samples),
        columns: read.choices,
        orders: Order::ALL.into_iter().map(|order| Choice::new(order.word(), order.name())).collect(),
        told: vec![
            Choice::new("shop", format!("the shop's clock, {}", me.shop.zone.name())),
            Choice::new("utc", "UTC"),
        ],
        units: vec![Choice::new("c", "°C"), Choice::new("f", "°F")],
        marks: vec![Choice::new("point", "12.4"), Choice::new("comma", "12,4")],
        can_sign,
    };
    page::show(status, &page)
}

fn facts(me: &Me, draft: &Draft, place: &str, read: &Reading, samples: &[Sample]) -> Vec<Fact> {
    let mut facts = vec![
        Fact::new("Place", place).link(draft.place.path()),
        Fact::new("File", draft.name.clone()),
        Fact::new("Rows", read.rows.to_string()),
        Fact::new("Samples", samples.len().to_string()),
    ];
    let times = || samples.iter().map(|sample| sample.at);
    if let Some((from, to)) = times().min().zip(times().max()) {
        facts.push(Fact::new("From", ledger::moment(me, from)));
        facts.push(Fact::new("To", ledger::moment(me, to)));
    }
    for (name, quantity) in [("Temperature", Quantity::Temperature), ("Humidity", Quantity::Humidity)] {
        let of = || samples.iter().map(|s| s.value).filter(|value| value.quantity() == quantity);
        let ends = of().min_by_key(|v| v.decimal()).zip(of().max_by_key(|v| v.decimal()));
        if let Some((least, most)) = ends {
            let system = me.shop.system;
            facts.push(Fact::new(name, format!("{} to {}", least.figure(system), most.text(system))));
        }
    }
    if let Ok(understood) = &read.understood {
        if understood.blank > 0 {
            facts.push(Fact::new("Cells without a figure", format!("{}, left out", understood.blank)));
        }
        if understood.again > 0 {
            facts.push(Fact::new("Written twice", format!("{}, taken once", understood.again)));
        }
    }
    facts
}

/// The first moments, with what was measured at each.
fn rows(me: &Me, samples: &[Sample]) -> Vec<Row> {
    let mut times: Vec<_> = samples.iter().map(|sample| sample.at).collect();
    times.sort_unstable();
    times.dedup();
    times.truncate(SHOWN);
    let said = |at, quantity: Quantity| {
        samples
            .binary_search_by_key(&(quantity.word(), at), Sample::key)
            .map(|n| samples[n].value.text(me.shop.system))
            .unwrap_or_default()
    };
    times
        .into_iter()
        .map(|at| Row {
            when: ledger::moment(me, at),
            temperature: said(at, Quantity::Temperature),
            humidity: said(at, Quantity::Humidity),
        })
        .collect()
}
