//! `/fermenting/{batch}`: how long a batch has been warm, by the shop's rule set or, as long as none is adopted, by each.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{Adopted, GUIDANCE, Outcome};
use super::super::run::Run;
use super::DECIDES;
use super::charts::{Drawn, charts};
use super::sums::{Sums, sums};
use super::take::TakeForm;
use crate::book;
use crate::deviations;
use crate::error::{Error, Errors, Result};
use crate::ids::BatchId;
use crate::rights::Right;
use crate::setup;
use crate::setup::entry::Measures;
use crate::standards::degree_hours::Rules;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line, Notice};
use crate::web::{App, Area, Frame, Me, Path, fresh_id, page};

/// How many lines about the batch are looked through for those of this page.
const LINES: i64 = 400;

struct PhRow {
    when: String,
    on: String,
    value: String,
    instrument: String,
    href: String,
    ends: bool,
}

struct PlaceRow {
    name: String,
    href: String,
    from: String,
    to: String,
    read: String,
}

#[derive(Template)]
#[template(path = "fermenting/batch.html")]
struct BatchPage {
    frame: Frame,
    id: BatchId,
    code: String,
    product: String,
    beneath: String,
    notices: Vec<Notice>,
    sums: Vec<Sums>,
    charts: Vec<Drawn>,
    places: Vec<PlaceRow>,
    phs: Vec<PhRow>,
    guidance: &'static str,
    adopted: String,
    lines: Vec<Line>,
    decides: &'static str,
    may_check: bool,
    form_id: Uuid,
    judge_id: Uuid,
    form: TakeForm,
    errors: Errors,
    subjects: Vec<Choice>,
    meters: Vec<Choice>,
    thermometers: Vec<Choice>,
    chamber: String,
    unit: String,
    can_judge: bool,
}

/// GET `/fermenting/{batch}`
pub async fn page(With(app): With<App>, me: Me, Path(id): Path<BatchId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, TakeForm::default(), Errors::default()).await
}

/// The one place that draws this page.
pub async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: BatchId,
    form: TakeForm,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let run = db::run(&mut conn, id, me.now).await?.filter(|run| run.ferments).ok_or(Error::NotFound)?;
    let adopted = db::adopted(&mut conn).await?.map(|written| written.adopted);
    let judged = db::last_judged(&mut conn, &[id]).await?.pop();
    let opened = judged.as_ref().and_then(|judged| judged.deviation);
    let closing = deviations::closings(&mut conn, opened.as_slice()).await?.pop();
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let own: Vec<_> = entries
        .into_iter()
        .filter(|entry| entry.kind == <super::super::entry::FermentationJudged as book::Entry>::KIND)
        .collect();
    let instruments = setup::instruments(&mut conn).await?;
    let with = |measures: Measures| -> Vec<Choice> {
        let of = instruments.iter().filter(|with| with.measures == measures);
        of.map(|with| Choice::new(with.id, with.name.clone())).collect()
    };
    let by: Vec<Adopted> =
        adopted.map_or_else(|| Rules::ALL.map(Adopted::as_published).to_vec(), |by| vec![by]);
    let reckoned: Vec<_> = by.iter().map(|by| (by, run.reckon(by))).collect();
    let over = reckoned.iter().any(|(_, reckoned)| reckoned.outcome == Outcome::Over);
    let first = reckoned.first();
    let chamber = first.and_then(|(_, reckoned)| run.stands_in(reckoned.way)).map(|place| place.name.clone());
    let page = BatchPage {
        frame: Frame::new(app, me, Area::Batches),
        id,
        code: run.code.to_string(),
        product: run.product_name.clone(),
        beneath: beneath(me, &run),
        notices: notices(me, &run, adopted.as_ref(), judged.as_ref(), first.map(|(_, reckoned)| reckoned))
            .into_iter()
            .chain(closing.as_ref().and_then(decided))
            .collect(),
        charts: first.map(|(by, reckoned)| charts(me, &run, by, reckoned)).unwrap_or_default(),
        places: first.map(|(_, reckoned)| places(me, &run, reckoned.way)).unwrap_or_default(),
        phs: phs(me, &run),
        sums: reckoned.iter().map(|(by, reckoned)| sums(me, &run, by, reckoned)).collect(),
        guidance: if over { GUIDANCE } else { "" },
        adopted: adopted.map(|by| by.words()).unwrap_or_default(),
        lines: ledger::lines(
            &app.book.kinds,
            me,
            &own,
            Style { days: true, strike: true, ..Style::default() },
        )?,
        decides: DECIDES,
        may_check: me.may(Right::Check) && run.stuffed.is_some(),
        form_id: fresh_id(),
        judge_id: fresh_id(),
        form: if form.on.is_empty() { TakeForm { on: id.to_string(), ..form } } else { form },
        errors,
        subjects: db::subjects(&mut conn, id).await?,
        meters: with(Measures::Ph),
        thermometers: with(Measures::Temperature),
        chamber: chamber.unwrap_or_default(),
        unit: me.shop.temperature_unit().symbol().to_owned(),
        can_judge: adopted.is_some() && first.is_some_and(|(_, reckoned)| reckoned.verdict.is_some()),
    };
    page::show(status, &page)
}

fn beneath(me: &Me, run: &Run) -> String {
    match (run.stuffed, run.end()) {
        (None, _) => "Not stuffed yet: the count starts with the stuffing.".into(),
        (Some((from, _)), Some(end)) => format!(
            "Stuffed {}, pH {} on {}: the count ended after {}.",
            ledger::moment(me, from),
            end.value,
            ledger::moment(me, end.at),
            hours(run)
        ),
        (Some((from, _)), None) => {
            format!(
                "Stuffed {}, {} ago; {} now. The count goes on.",
                ledger::moment(me, from),
                hours(run),
                run.stage.word()
            )
        }
    }
}

/// "55 h 20 min"
fn hours(run: &Run) -> String {
    let Some((from, _)) = run.stuffed else { return String::new() };
    let minutes = (run.until - from).whole_minutes();
    match (minutes / 60, minutes % 60) {
        (hours, 0) => format!("{hours}\u{a0}h"),
        (0, minutes) => format!("{minutes}\u{a0}min"),
        (hours, minutes) => format!("{hours}\u{a0}h {minutes}\u{a0}min"),
    }
}

fn notices(
    me: &Me,
    run: &Run,
    adopted: Option<&Adopted>,
    judged: Option<&db::LastJudged>,
    reckoned: Option<&super::super::run::Reckoned>,
) -> Vec<Notice> {
    let mut all = Vec::new();
    if adopted.is_none() {
        all.push(Notice {
            mark: "late",
            text: "No rule set is adopted. Both published ones are shown, each in its own scale, and this batch is judged \
                   by neither."
                .into(),
            href: "/fermenting/rule".into(),
            link: "The rule set".into(),
        });
    }
    if let Some(read) = run.rose() {
        let text = format!(
            "{} was read on {} on {}, after the count had ended. Measure again, and look at the batch.",
            read.value.text(),
            read.name,
            ledger::moment(me, read.at)
        );
        all.push(Notice::new("late", text));
    }
    if let (Some(judged), Some(reckoned)) = (judged, reckoned) {
        let decided = matches!(reckoned.outcome, Outcome::Met | Outcome::Over);
        let same = judged.outcome == reckoned.outcome || (judged.outcome == Outcome::Within && !decided);
        if !same {
            all.push(Notice {
                mark: "late",
                text: format!(
                    "It was judged as {} on line {}. What is recorded now says {}.",
                    judged.outcome.words(),
                    judged.seq,
                    reckoned.outcome.words()
                ),
                href: format!("/entries/{}", judged.seq),
                link: format!("Line {}", judged.seq),
            });
        }
        if let Some(deviation) = judged.deviation.filter(|_| judged.open) {
            all.push(Notice {
                mark: "held",
                text: "A deviation is open, and the lots of this batch are on hold.".into(),
                href: deviation.path(),
                link: "What was done about it".into(),
            });
        }
    }
    all
}

/// What was decided of its deviation, where that let any of it go.
fn decided(closing: &deviations::Closing) -> Option<Notice> {
    let mut notice = Notice::new("met", format!("Decided: {}.", closing.let_go()?));
    (notice.href, notice.link) = (closing.deviation.path(), "What was done about it".into());
    Some(notice)
}

fn places(me: &Me, run: &Run, way: usize) -> Vec<PlaceRow> {
    let visits = run.ways.get(way).map(Vec::as_slice).unwrap_or_default();
    let row = |visit: &super::super::run::Visit| {
        let within = visit.temps.iter().filter(|temp| temp.at >= visit.from && temp.at <= visit.to);
        let (by_hand, samples): (Vec<_>, Vec<_>) = within.partition(|temp| temp.seq.is_some());
        let mut read = vec![format!("{} by hand", by_hand.len())];
        if !samples.is_empty() {
            read.push(format!("{} samples of a logger", samples.len()));
        }
        PlaceRow {
            name: visit.place.name.clone(),
            href: visit.place.id.path(),
            from: ledger::moment(me, visit.from),
            to: ledger::moment(me, visit.to),
            read: read.join(", "),
        }
    };
    visits.iter().map(row).collect()
}

fn phs(me: &Me, run: &Run) -> Vec<PhRow> {
    let end = run.end().map(|end| end.seq);
    let row = |read: &super::super::run::PhRead| PhRow {
        when: ledger::moment(me, read.at),
        on: read.name.clone(),
        value: read.value.text(),
        instrument: read.instrument.clone(),
        href: format!("/entries/{}", read.seq),
        ends: end == Some(read.seq),
    };
    run.phs.iter().map(row).collect()
}
