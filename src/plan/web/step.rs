//! `/plan/{id}/steps/{n}`: a step of the flow with its hazards; the number past the last writes a new one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::{drafted, redraft};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{PlanId, PlannedCheckId};
use crate::plan::db;
use crate::plan::entry::{Document, Hazard, HazardSort, Sort, Step};
use crate::rights::needs::Keep;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, page};

/// How many empty rows for hazards stand after those that are written.
const MORE: usize = 2;
/// The most hazards of a step.
const MOST: usize = 20;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct StepForm {
    name: String,
    /// Its number among the steps.
    number: String,
    into: String,
    sort: Vec<String>,
    what: Vec<String>,
    likely: Vec<String>,
    why: Vec<String>,
    control: Vec<String>,
    ccp: Vec<String>,
    /// "yes": the step is taken out.
    gone: String,
}

/// One hazard as it is typed.
#[derive(Debug, Default, Clone)]
struct Row {
    n: usize,
    sort: String,
    what: String,
    likely: String,
    why: String,
    control: String,
    ccp: String,
}

impl Row {
    fn id(&self, field: &str) -> String {
        format!("f-{field}-{}", self.n)
    }
}

impl StepForm {
    fn of(step: &Step, number: usize) -> Self {
        let all = |part: fn(&Hazard) -> String| step.hazards.iter().map(part).collect();
        Self {
            name: step.name.clone(),
            number: number.to_string(),
            into: step.into.map(|into| into.to_string()).unwrap_or_default(),
            sort: all(|hazard| hazard.sort.word().into()),
            what: all(|hazard| hazard.what.clone()),
            likely: all(|hazard| if hazard.likely { "yes".into() } else { "no".into() }),
            why: all(|hazard| hazard.why.clone()),
            control: all(|hazard| hazard.control.clone()),
            ccp: all(|hazard| hazard.ccp.map(|id| id.to_string()).unwrap_or_default()),
            gone: String::new(),
        }
    }

    fn rows(&self) -> Vec<Row> {
        let of = |part: &[String], n: usize| part.get(n).cloned().unwrap_or_default();
        (0..(self.what.len() + MORE).min(MOST))
            .map(|n| Row {
                n: n + 1,
                sort: of(&self.sort, n),
                what: of(&self.what, n),
                likely: of(&self.likely, n),
                why: of(&self.why, n),
                control: of(&self.control, n),
                ccp: of(&self.ccp, n),
            })
            .collect()
    }

    fn read(&self, me: &Me, document: &Document) -> Result<(Step, usize), Errors> {
        let mut read = Reader::new(&me.shop);
        let last = u16::try_from(document.steps.len() + 1).unwrap_or(u16::MAX);
        let name = read.line("name", &self.name, "Name the step.");
        let number = read.count("number", &self.number, 1, last);
        let into = if self.into.trim().is_empty() {
            Some(None)
        } else {
            read.count("into", &self.into, 2, last).map(Some)
        };
        if let (Some(number), Some(Some(into))) = (number, into)
            && into <= number
        {
            read.refuse("into", "It runs into a step that comes after it.");
        }
        let mut hazards = Vec::new();
        for row in self.rows() {
            if row.what.trim().is_empty() {
                if !row.why.trim().is_empty() || !row.control.trim().is_empty() {
                    read.refuse("hazards", format!("Hazard {}: say what it is.", row.n));
                }
                continue;
            }
            hazards.extend(hazard(&mut read, &row, document));
        }
        let whole = read.finish(|| Some((Step { name: name?, into: into?, hazards }, number?)))?;
        Ok((whole.0, usize::from(whole.1)))
    }
}

fn hazard(read: &mut Reader, row: &Row, document: &Document) -> Option<Hazard> {
    let wrong = |what: &str| format!("Hazard {}: {what}", row.n);
    let sort = read.value::<HazardSort>(
        "hazards",
        &row.sort,
        &wrong("say whether it is biological, chemical or physical."),
    );
    let what = read.line("hazards", &row.what, &wrong("say what it is."));
    let why = read.note("hazards", &row.why, &wrong("say why it is likely or not."));
    let control = read.note("hazards", &row.control, &wrong("say what controls it."));
    let ccp =
        read.maybe::<PlannedCheckId>("hazards", &row.ccp, &wrong("choose its critical control point."))?;
    if ccp.is_some_and(|id| document.ccp_number(id).is_none()) {
        read.refuse("hazards", wrong("that check is no critical control point of this plan."));
    }
    let likely = match row.likely.as_str() {
        "yes" => true,
        "no" => false,
        _ => {
            read.refuse("hazards", wrong("say whether it is reasonably likely."));
            return None;
        }
    };
    Some(Hazard { sort: sort?, what: what?, likely, why: why?, control: control?, ccp })
}

/// The steps with this one in its place; where others run into keeps pointing at the same step.
fn put(steps: &[Step], at: Option<usize>, step: Option<Step>, number: usize) -> Vec<Step> {
    let mut order: Vec<(Option<usize>, Step)> =
        steps.iter().cloned().enumerate().map(|(n, step)| (Some(n + 1), step)).collect();
    if let Some(at) = at.filter(|at| (1..=order.len()).contains(at)) {
        order.remove(at - 1);
    }
    if let Some(step) = step {
        order.insert((number - 1).min(order.len()), (at, step));
    }
    let moved = |old: u16| {
        order
            .iter()
            .position(|(before, _)| *before == Some(usize::from(old)))
            .and_then(|now| u16::try_from(now + 1).ok())
    };
    order
        .iter()
        .enumerate()
        .map(|(n, (before, step))| {
            // The step that was just typed names today's numbers already.
            let into = if *before == at { step.into } else { step.into.and_then(moved) };
            Step { into: into.filter(|into| usize::from(*into) > n + 1), ..step.clone() }
        })
        .collect()
}

#[derive(Template)]
#[template(path = "plan/step.html")]
struct StepPage {
    frame: Frame,
    id: PlanId,
    n: usize,
    fresh: bool,
    form_id: Uuid,
    form: StepForm,
    rows: Vec<Row>,
    errors: Errors,
    none: Errors,
    sorts: Vec<Choice>,
    answers: Vec<Choice>,
    ccps: Vec<Choice>,
}

/// GET `/plan/{id}/steps/{n}`
pub async fn page(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(at): Path<(PlanId, usize)>,
) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, at, None, Errors::default()).await
}

/// POST `/plan/{id}/steps/{n}`
pub async fn write(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(at): Path<(PlanId, usize)>,
    form: Form<StepForm>,
) -> Result<Response> {
    match sign(&app, &me, at, &form).await {
        Ok(()) => page::goto(&at.0.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, at, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, (id, n): (PlanId, usize), form: &Form<StepForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let before = drafted(&mut pen, id).await?;
    if n == 0 || n > before.document.steps.len() + 1 || before.document.sort != Sort::Plan {
        return Err(Error::NotFound);
    }
    let known = before.document.steps.get(n - 1).map(|_| n);
    let (steps, changed) = if form.gone == "yes" {
        let Some(step) = known.and_then(|n| before.document.steps.get(n - 1)) else {
            return Err(Refusal::at("gone", "This step is not written yet.").into());
        };
        (put(&before.document.steps, known, None, n), format!("step {} taken out", step.name))
    } else {
        let (step, number) = form.read(me, &before.document)?;
        let changed = format!("step {}", step.name);
        (put(&before.document.steps, known, Some(step), number), changed)
    };
    let document = Document { steps, ..before.document.clone() };
    redraft(&mut pen, before, document, changed).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    (id, n): (PlanId, usize),
    form: Option<StepForm>,
    errors: Errors,
) -> Result<Response> {
    let plan = db::one(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let steps = &plan.document.steps;
    if n == 0 || n > steps.len() + 1 || plan.document.sort != Sort::Plan {
        return Err(Error::NotFound);
    }
    let step = steps.get(n - 1);
    let form = form.unwrap_or_else(|| match step {
        Some(step) => StepForm::of(step, n),
        None => StepForm { number: n.to_string(), ..StepForm::default() },
    });
    let page = StepPage {
        frame: Frame::new(app, me, Area::Checks),
        id,
        n,
        fresh: step.is_none(),
        form_id: fresh_id(),
        rows: form.rows(),
        form,
        errors,
        none: Errors::default(),
        sorts: HazardSort::ALL.iter().map(|sort| Choice::new(sort.word(), sort.word())).collect(),
        answers: vec![Choice::new("yes", "yes"), Choice::new("no", "no")],
        ccps: plan
            .document
            .ccps()
            .enumerate()
            .map(|(n, check)| Choice::new(check.id, format!("CCP {} {}", n + 1, check.name)))
            .collect(),
    };
    page::show(status, &page)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step(name: &str, into: Option<u16>) -> Step {
        Step { name: name.into(), into, hazards: vec![] }
    }

    fn names(steps: &[Step]) -> Vec<(&str, Option<u16>)> {
        steps.iter().map(|step| (step.name.as_str(), step.into)).collect()
    }

    #[test]
    fn what_runs_into_a_step_follows_it_when_another_is_put_in_before() {
        let steps = [step("meat", None), step("spice", Some(3)), step("mix", None)];
        let now = put(&steps, None, Some(step("grind", None)), 2);
        assert_eq!(names(&now), [("meat", None), ("grind", None), ("spice", Some(4)), ("mix", None)]);
    }

    #[test]
    fn a_step_that_is_taken_out_leaves_nothing_running_into_it() {
        let steps = [step("meat", None), step("spice", Some(3)), step("mix", None)];
        assert_eq!(names(&put(&steps, Some(3), None, 3)), [("meat", None), ("spice", None)]);
    }

    #[test]
    fn a_step_moves_to_its_new_number() {
        let steps = [step("meat", None), step("mix", None), step("stuff", None)];
        let now = put(&steps, Some(3), Some(step("stuff", None)), 1);
        assert_eq!(names(&now), [("stuff", None), ("meat", None), ("mix", None)]);
    }
}
