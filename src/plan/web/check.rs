//! `/plan/{id}/checks/{n}`: a check with its limit, how it is made, and what is done when it is not met; the number past the last
//! writes a new one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::{drafted, redraft};
use crate::checks::{self, Quantity, Value};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{Named, PlaceId, PlanId, PlannedCheckId};
use crate::plan::db;
use crate::plan::entry::{self, Asks, Document, Every, PlannedCheck, Sort};
use crate::rights::needs::Keep;
use crate::setup;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct CheckForm {
    name: String,
    /// "yes": a critical control point.
    ccp: String,
    /// A quantity, "answered" or "reckoned".
    asks: String,
    question: String,
    items: String,
    least: String,
    most: String,
    of: String,
    every: String,
    number: String,
    how: String,
    who: String,
    source: String,
    action: String,
    verified: String,
    /// "yes": the check is taken out.
    gone: String,
}

/// One item a line, in the field for them.
fn lines(text: &str) -> Vec<String> {
    text.lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

impl CheckForm {
    fn of(me: &Me, check: &PlannedCheck) -> Self {
        let figure = |end: Option<Value>| end.map(|value| value.figure(me.shop.system)).unwrap_or_default();
        let mut form = Self {
            name: check.name.clone(),
            ccp: if check.ccp { "yes".into() } else { String::new() },
            of: checks::applies_key(&check.of),
            how: check.how.clone(),
            who: check.who.clone(),
            source: check.source.clone(),
            action: check.action.clone(),
            verified: check.verified.clone(),
            ..Self::default()
        };
        match &check.asks {
            Asks::Measured { quantity, least, most } => {
                form.asks = quantity.word().into();
                (form.least, form.most) = (figure(*least), figure(*most));
            }
            Asks::Answered { question, items } => {
                form.asks = "answered".into();
                (form.question, form.items) = (question.clone(), items.join("\n"));
            }
            Asks::Reckoned { what } => {
                form.asks = "reckoned".into();
                form.question.clone_from(what);
            }
        }
        let (every, number) = match check.every {
            Every::Hours(n) => ("hours", n.to_string()),
            Every::Days(n) => ("days", n.to_string()),
            Every::Work(hour) => ("work", hour.to_string()),
            Every::Batch => ("batch", String::new()),
        };
        form.every = every.into();
        form.number = number;
        form
    }

    fn read(&self, me: &Me, id: PlannedCheckId, places: &[Named<PlaceId>]) -> Result<PlannedCheck, Errors> {
        let mut read = Reader::new(&me.shop);
        let name = read.line("name", &self.name, "Name the check.");
        self.nothing_that_is_passed_over(&mut read);
        let asks = self.asks(&mut read);
        let of = checks::applies_of(&self.of, places);
        if of.is_none() {
            read.refuse("of", "Choose what is checked.");
        }
        let every = self.every(&mut read);
        let how = read.note("how", &self.how, "Say how it is measured or looked at.");
        let who = read.line("who", &self.who, "Say who makes it.");
        let source = read.note_or_empty("source", &self.source);
        let action = read.note("action", &self.action, "Say what is done when it is not met.");
        let verified = read.note_or_empty("verified", &self.verified);
        let check = read.finish(|| {
            Some(PlannedCheck {
                id,
                name: name?,
                ccp: self.ccp == "yes",
                asks: asks?,
                of: of?,
                every: every?,
                how: how?,
                who: who?,
                source: source?,
                action: action?,
                verified: verified?,
            })
        })?;
        entry::plan_check(check)
    }

    /// What a check of this sort has no use for is asked about and not lost.
    fn nothing_that_is_passed_over(&self, read: &mut Reader) {
        let typed = |text: &str| !text.trim().is_empty();
        let measured = self.asks.parse::<Quantity>().is_ok();
        let mut refuse = |field: &'static str, text: &str, why: &str| {
            if typed(text) {
                read.refuse(field, why);
            }
        };
        if measured {
            refuse("question", &self.question, "What is measured asks no question.");
        } else {
            refuse("least", &self.least, "Only what is measured has a least.");
            refuse("most", &self.most, "Only what is measured has a most.");
        }
        if self.asks != "answered" {
            refuse("items", &self.items, "Only what is answered has items.");
        }
        if self.every == "batch" {
            refuse("number", &self.number, "Once for each batch has no number.");
        }
    }

    fn asks(&self, read: &mut Reader) -> Option<Asks> {
        match self.asks.as_str() {
            "answered" => {
                let question = read.note("question", &self.question, "Say what is asked.")?;
                Some(Asks::Answered { question, items: lines(&read.note_or_empty("items", &self.items)?) })
            }
            "reckoned" => {
                let what = read.note("question", &self.question, "Say what is reckoned.")?;
                Some(Asks::Reckoned { what })
            }
            word => {
                let quantity = read.value::<Quantity>("asks", word, "Choose what is asked.")?;
                let mut end = |field: &'static str, text: &str| {
                    if text.trim().is_empty() {
                        return Some(None);
                    }
                    checks::value(read, field, quantity, text).map(Some)
                };
                let (least, most) = (end("least", &self.least), end("most", &self.most));
                Some(Asks::Measured { quantity, least: least?, most: most? })
            }
        }
    }

    fn every(&self, read: &mut Reader) -> Option<Every> {
        match self.every.as_str() {
            "hours" => read.count("number", &self.number, 1, 744).map(Every::Hours),
            "days" => read.count("number", &self.number, 1, 732).map(Every::Days),
            "work" => {
                let hour = read.count("number", &self.number, 0, 23)?;
                u8::try_from(hour).ok().map(Every::Work)
            }
            "batch" => Some(Every::Batch),
            _ => {
                read.refuse("every", "Choose how often.");
                None
            }
        }
    }
}

#[derive(Template)]
#[template(path = "plan/check.html")]
struct CheckPage {
    frame: Frame,
    id: PlanId,
    n: usize,
    fresh: bool,
    form_id: Uuid,
    form: CheckForm,
    errors: Errors,
    asks: Vec<Choice>,
    ofs: Vec<Choice>,
    everys: Vec<Choice>,
    plan: bool,
}

/// GET `/plan/{id}/checks/{n}`
pub async fn page(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(at): Path<(PlanId, usize)>,
) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, at, None, Errors::default()).await
}

/// POST `/plan/{id}/checks/{n}`
pub async fn write(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(at): Path<(PlanId, usize)>,
    form: Form<CheckForm>,
) -> Result<Response> {
    match sign(&app, &me, at, &form).await {
        Ok(()) => page::goto(&at.0.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, at, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, (id, n): (PlanId, usize), form: &Form<CheckForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let before = drafted(&mut pen, id).await?;
    let mut document = before.document.clone();
    if n == 0 || n > document.checks.len() + 1 {
        return Err(Error::NotFound);
    }
    let known = document.checks.get(n - 1).cloned();
    let changed = match (known, form.gone == "yes") {
        (None, true) => return Err(Refusal::at("gone", "This check is not written yet.").into()),
        (Some(old), true) => {
            document.checks.remove(n - 1);
            forget(&mut document, old.id);
            format!("check {} taken out", old.name)
        }
        (known, false) => {
            let places: Vec<_> = setup::places(&mut pen).await?.iter().map(setup::Place::named).collect();
            let own = known.as_ref().map_or_else(|| PlannedCheckId::made_by(pen.next().id), |old| old.id);
            let check = form.read(me, own, &places)?;
            let changed = format!("check {}", check.name);
            if !check.ccp {
                forget(&mut document, check.id);
            }
            match document.checks.get_mut(n - 1) {
                Some(old) => *old = check,
                None => document.checks.push(check),
            }
            changed
        }
    };
    redraft(&mut pen, before, document, changed).await?;
    pen.commit().await
}

/// No hazard is controlled any more by what is no critical control point.
fn forget(document: &mut Document, check: PlannedCheckId) {
    for hazard in document.steps.iter_mut().flat_map(|step| &mut step.hazards) {
        if hazard.ccp == Some(check) {
            hazard.ccp = None;
        }
    }
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    (id, n): (PlanId, usize),
    form: Option<CheckForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let plan = db::one(&mut conn, id).await?.ok_or(Error::NotFound)?;
    if n == 0 || n > plan.document.checks.len() + 1 {
        return Err(Error::NotFound);
    }
    let check = plan.document.checks.get(n - 1);
    let quantities = Quantity::ALL
        .into_iter()
        .map(|q| Choice::new(q.word(), format!("measured: {}", q.word())).note(q.unit(me.shop.system)));
    let ofs = checks::holds_for(&mut conn).await?.into_iter().filter(|one| !one.value.starts_with("form:"));
    let page = CheckPage {
        frame: Frame::new(app, me, Area::Checks),
        id,
        n,
        fresh: check.is_none(),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| check.map(|check| CheckForm::of(me, check)).unwrap_or_default()),
        errors,
        asks: quantities
            .chain([
                Choice::new("answered", "answered: yes or no, item by item"),
                Choice::new("reckoned", "reckoned by the program from the batch's records"),
            ])
            .collect(),
        ofs: ofs.collect(),
        everys: vec![
            Choice::new("hours", "every so many hours"),
            Choice::new("days", "every so many days"),
            Choice::new("work", "each day before work, by the hour"),
            Choice::new("batch", "once for each batch"),
        ],
        plan: plan.document.sort == Sort::Plan,
    };
    page::show(status, &page)
}
