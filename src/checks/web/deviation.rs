//! `/checks/deviations/{id}`: what was wrong, what it holds, the four parts of what was done, and the decision.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::deviations::state;
use super::lots;
use crate::book;
use crate::deviations::entry::{self, Decided, Decision, DeviationClosed, DeviationCorrected, Part, Parts};
use crate::deviations::{self, Action, Concerned, Listed};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{DeviationId, LotId, Named};
use crate::rights::Right;
use crate::rights::needs::{Check, Decide};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line, Notice, Stand, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, Topic, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 100;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ActionForm {
    cause: String,
    control: String,
    prevent: String,
    product: String,
}

impl ActionForm {
    fn read(&self, me: &Me) -> Result<Parts, Errors> {
        let mut read = Reader::new(&me.shop);
        let cause = read.note_or_empty("cause", &self.cause);
        let control = read.note_or_empty("control", &self.control);
        let prevent = read.note_or_empty("prevent", &self.prevent);
        let product = read.note_or_empty("product", &self.product);
        read.finish(|| Some(Parts { cause: cause?, control: control?, prevent: prevent?, product: product? }))
    }
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct DecisionForm {
    /// For all lots that are not decided on by themselves.
    every: String,
    /// The lots, and in the same order what becomes of each; empty: as for all.
    lot: Vec<String>,
    decision: Vec<String>,
    words: String,
}

impl DecisionForm {
    fn read(&self, me: &Me) -> Result<(Vec<(LotId, Decision)>, String), Errors> {
        let mut read = Reader::new(&me.shop);
        let every = read.maybe("every", &self.every, "Choose what becomes of the lots.");
        let mut decided = Vec::with_capacity(self.lot.len());
        for (n, lot) in self.lot.iter().enumerate() {
            let own = self.decision.get(n).map_or("", String::as_str);
            let own = read.maybe("every", own, "Choose what becomes of each lot.");
            let lot = read.value("every", lot, "There is no such lot.");
            match (lot, own.flatten().or(every.flatten())) {
                (Some(lot), Some(decision)) => decided.push((lot, decision)),
                (Some(_), None) if own == Some(None) && every == Some(None) && decided.len() == n => {
                    read.refuse("every", "Say what becomes of the lots.");
                }
                _ => {}
            }
        }
        let words = read.note("words", &self.words, "Say why it is decided so.");
        read.finish(|| Some((decided, words?)))
    }
}

/// What was sent and refused: one of the two forms of the page.
#[derive(Default)]
struct Sent {
    action: ActionForm,
    action_errors: Errors,
    decision: DecisionForm,
    decision_errors: Errors,
}

/// A lot that the deviation concerns, ready to print.
struct Row {
    lot: LotId,
    href: String,
    code: String,
    name: String,
    weight: String,
    place: String,
    state: Mark,
    /// The id of its field, and what it says before its choice.
    field: String,
    label: String,
    chosen: String,
}

#[derive(Template)]
#[template(path = "checks/deviation.html")]
#[allow(clippy::struct_excessive_bools, reason = "each says whether a part of the page is drawn")]
struct DeviationPage {
    frame: Frame,
    /// What later rooms add, each a section of HTML.
    added: Vec<String>,
    id: DeviationId,
    unforeseen: bool,
    what: String,
    state: Mark,
    opened: String,
    check_href: String,
    parts: Vec<Stand>,
    /// How many parts are not written yet, in words; empty: none.
    missing: String,
    rows: Vec<Row>,
    lines: Vec<Line>,
    open: bool,
    may_check: bool,
    may_decide: bool,
    form_id: Uuid,
    second_form_id: Uuid,
    sent: Sent,
    decisions: Vec<Choice>,
}

/// GET `/checks/deviations/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<DeviationId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, Sent::default()).await
}

/// POST `/checks/deviations/{id}/corrective-action`
pub async fn correct(
    State(app): State<App>,
    me: Signer<Check>,
    Path(id): Path<DeviationId>,
    form: Form<ActionForm>,
) -> Result<Response> {
    match sign_action(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(action_errors)) => {
            let sent = Sent { action: form.fields, action_errors, ..Sent::default() };
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, sent).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_action(app: &App, me: &Me, id: DeviationId, form: &Form<ActionForm>) -> Result<()> {
    let parts = form.read(me)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let deviation = deviations::deviation(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let standing = deviations::standing(&mut pen, &deviation).await?;
    let unforeseen = deviation.unforeseen;
    let corrected = DeviationCorrected { deviation: id, what: deviation.what, parts, unforeseen };
    pen.append(entry::correct(corrected, &standing)?).await?;
    pen.commit().await
}

/// POST `/checks/deviations/{id}/decision`
pub async fn decide(
    State(app): State<App>,
    me: Signer<Decide>,
    Path(id): Path<DeviationId>,
    form: Form<DecisionForm>,
) -> Result<Response> {
    match sign_decision(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(decision_errors)) => {
            let sent = Sent { decision: form.fields, decision_errors, ..Sent::default() };
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, sent).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_decision(app: &App, me: &Me, id: DeviationId, form: &Form<DecisionForm>) -> Result<()> {
    let (decided, words) = form.read(me)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let deviation = deviations::deviation(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let standing = deviations::standing(&mut pen, &deviation).await?;
    let known = deviations::concerned(&mut pen, id).await?;
    let lots = decided
        .into_iter()
        .map(|(lot, decision)| {
            let known = known.iter().find(|known| known.lot == lot);
            let known =
                known.ok_or_else(|| Refusal::at("every", "One of the lots is none of this deviation."))?;
            Ok(Decided { lot: Named::new(lot, known.code.to_string()), decision })
        })
        .collect::<Result<_, Refusal>>()?;
    let closed = DeviationClosed { deviation: id, what: deviation.what, laid_by: deviation.seq, lots, words };
    pen.append(entry::close(closed, &standing)?).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(app: &App, me: &Me, status: StatusCode, id: DeviationId, sent: Sent) -> Result<Response> {
    let mut conn = app.db().await?;
    let deviation = deviations::deviation(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let actions = Action::of(&mut conn, id).await?;
    let concerned = deviations::concerned(&mut conn, id).await?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let open = !deviation.closed && !deviation.struck;
    let may = |right: Right| open && me.may(right);
    let mut frame = Frame::new(app, me, Area::Checks);
    frame.notice = notice(&deviation, &concerned);
    let style = Style { days: true, strike: me.may(Right::Check), ..Style::default() };
    let page = DeviationPage {
        frame,
        added: app.parts(me, Topic::Deviation(id)).await?,
        id,
        unforeseen: deviation.unforeseen,
        state: state(&deviation),
        opened: ledger::lately(me, deviation.opened_at),
        check_href: format!("/entries/{}", deviation.seq),
        parts: Part::ALL.into_iter().map(|part| stand(me, part, !deviation.unforeseen, &actions)).collect(),
        missing: missing(&deviation.parts),
        rows: concerned.iter().enumerate().map(|(n, lot)| row(me, n, lot, &sent.decision)).collect(),
        lines: ledger::lines(&app.book.kinds, me, &entries, style)?,
        open,
        may_check: may(Right::Check),
        may_decide: may(Right::Decide) && deviation.parts.missing().is_empty(),
        what: deviation.what,
        form_id: fresh_id(),
        second_form_id: fresh_id(),
        sent,
        decisions: decisions(),
    };
    page::show(status, &page)
}

fn decisions() -> Vec<Choice> {
    let note = |decision: Decision| match decision {
        Decision::Lift => "it may be used again",
        Decision::Keep => "it stays where it is",
        Decision::Rework => "it stays on hold until a further stage is made and the hold is lifted",
        Decision::Discard => "it stays on hold until its discarding is signed",
    };
    Decision::ALL
        .into_iter()
        .map(|decision| Choice::new(decision.word(), decision.word()).note(note(decision)))
        .collect()
}

fn notice(deviation: &Listed, concerned: &[Concerned]) -> Option<Notice> {
    if deviation.closed || deviation.struck {
        return None;
    }
    let held = match concerned.len() {
        0 => "No lot lay there, so nothing is on hold.".to_owned(),
        1 => "The lot below is on hold until somebody with the right has decided on it.".to_owned(),
        n => format!("The {n} lots below are on hold until somebody with the right has decided on each."),
    };
    let words = if deviation.parts.missing().is_empty() {
        "The corrective action is written. What is open is the decision."
    } else {
        "Write what was done about it."
    };
    Some(Notice::new("out", format!("{held} {words}")))
}

fn stand(me: &Me, part: Part, foreseen: bool, actions: &[Action]) -> Stand {
    match actions.iter().find(|action| action.part == part) {
        Some(action) => Stand {
            state: Mark::new("met", "written"),
            what: format!("{}: {}", part.name(foreseen), action.words),
            note: format!("{} {}", ledger::lately(me, action.at), action.initials),
            href: String::new(),
        },
        None => Stand {
            state: Mark::new("due", "open"),
            what: part.name(foreseen).to_owned(),
            note: String::new(),
            href: String::new(),
        },
    }
}

fn missing(parts: &Parts) -> String {
    match parts.missing().len() {
        0 => String::new(),
        1 => "One of the four parts is not written yet.".into(),
        n => format!("{n} of the four parts are not written yet."),
    }
}

fn row(me: &Me, n: usize, lot: &Concerned, sent: &DecisionForm) -> Row {
    let id = lot.lot.to_string();
    let at = sent.lot.iter().position(|sent| *sent == id);
    let chosen = at.and_then(|at| sent.decision.get(at)).cloned().unwrap_or_default();
    let state = match (lot.decision, lot.held) {
        (Some(Decision::Lift), true) => Mark::new("held", "hold lifted; held by something else"),
        (Some(Decision::Lift), false) => Mark::new("met", Decision::Lift.decided()),
        (Some(decision), true) => Mark::new("held", decision.decided()),
        (None, true) => Mark::new("held", "on hold"),
        (_, false) => Mark::new("gone", "not on hold"),
    };
    Row {
        lot: lot.lot,
        href: lot.lot.path(),
        code: lot.code.to_string(),
        name: lot.item_name.clone(),
        weight: me.shop.weight(lot.grams),
        place: lot.place.clone().unwrap_or_default(),
        state,
        field: format!("f-decision-{n}"),
        label: format!("{} {}", lot.code, lot.item_name),
        chosen,
    }
}

impl DeviationPage {
    fn lots(&self) -> String {
        lots(self.rows.len())
    }
}
