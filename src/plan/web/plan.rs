//! `/plan/{id}`: one plan, its flow, hazards, checks and versions; signing and reassessing it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::views::{Shown, shown};
use super::{CAUTION, drafted};
use crate::book::{self, Pen, Seq};
use crate::checks;
use crate::checks::entry::LimitWritten;
use crate::error::{Error, Errors, Result};
use crate::ids::{Named, PersonId, PlanId, PlannedCheckId};
use crate::measure::day_text;
use crate::people;
use crate::plan::db;
use crate::plan::entry::{self, By, MonitoringObserved, Others, PlanReassessed, PlanSigned, Sort};
use crate::rights::Right;
use crate::rights::needs::{Keep, Review};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 30;

/// The forms at the foot of a plan: what is signed, why, and who was watched.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PlanForm {
    reason: String,
    check: String,
    who: String,
    in_order: String,
    words: String,
}

struct VersionRow {
    href: String,
    name: String,
    words: String,
}

struct ChangeRow {
    href: String,
    words: String,
}

#[derive(Template)]
#[template(path = "plan/plan.html")]
#[allow(clippy::struct_excessive_bools, reason = "each says whether a part of the page is drawn")]
struct PlanPage {
    frame: Frame,
    id: PlanId,
    name: String,
    standing: String,
    caution: &'static str,
    lacks: Vec<String>,
    changes: Vec<ChangeRow>,
    shown: Shown,
    form_id: Uuid,
    reassess_id: Uuid,
    observe_id: Uuid,
    form: PlanForm,
    errors: Errors,
    versions: Vec<VersionRow>,
    lines: Vec<Line>,
    checks: Vec<Choice>,
    people: Vec<Choice>,
    draft: bool,
    signed: bool,
    may_keep: bool,
    may_review: bool,
}

/// GET `/plan/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<PlanId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, PlanForm::default(), Errors::default()).await
}

/// POST `/plan/{id}`: the owner signs the draft.
pub async fn sign(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PlanId>,
    form: Form<PlanForm>,
) -> Result<Response> {
    let done = sign_version(&app, &me, id, &form).await;
    back(&app, &me, id, form, done).await
}

/// POST `/plan/{id}/reassessment`: the version that stands was looked over and stays.
pub async fn reassess(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<PlanId>,
    form: Form<PlanForm>,
) -> Result<Response> {
    let done = sign_reassessment(&app, &me, id, &form).await;
    back(&app, &me, id, form, done).await
}

/// POST `/plan/{id}/observation`: somebody watched how a check is made.
pub async fn observe(
    State(app): State<App>,
    me: Signer<Review>,
    Path(id): Path<PlanId>,
    form: Form<PlanForm>,
) -> Result<Response> {
    let done = sign_observation(&app, &me, id, &form).await;
    back(&app, &me, id, form, done).await
}

async fn back(app: &App, me: &Me, id: PlanId, form: Form<PlanForm>, done: Result<()>) -> Result<Response> {
    match done {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, id, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign_version(app: &App, me: &Me, id: PlanId, form: &Form<PlanForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let reason =
        read.note("reason", &form.reason, "Say why it is signed: for the first time, or what has changed.");
    let reason = read.finish(|| reason)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let before = drafted(&mut pen, id).await?;
    let standing = db::versions(&mut pen, id).await?.into_iter().next();
    let others = Others {
        version: before.version,
        covered: db::covered(&mut pen, id).await?,
        standing: standing.map(|version| version.document),
    };
    let signed = entry::sign(id, before.document, reason, &others)?;
    let line = pen.append(signed.clone()).await?;
    for limit in limits(&signed, line, others.standing.as_ref()) {
        pen.append(checks::entry::write_limit(limit)?).await?;
    }
    pen.commit().await
}

/// The limits of a version, and those of the version before that are no longer in force. Those of batches stay: a batch keeps the
/// version that it was begun under.
fn limits(signed: &PlanSigned, line: Seq, before: Option<&entry::Document>) -> Vec<LimitWritten> {
    let of = |document: &entry::Document| -> Vec<LimitWritten> {
        let line = (document.sort == Sort::Plan).then_some(line);
        let by = By { plan: &document.name, version: signed.version, covers: &document.covers, line };
        document.checks.iter().filter_map(|check| check.limit(&by)).collect()
    };
    let mut now = of(&signed.document);
    let gone = before.map(of).unwrap_or_default().into_iter();
    let gone: Vec<_> = gone
        .filter(|old| old.under.is_none() && now.iter().all(|limit| limit.limit != old.limit))
        .map(|old| LimitWritten { retired: true, ..old })
        .collect();
    now.extend(gone);
    now
}

async fn sign_reassessment(app: &App, me: &Me, id: PlanId, form: &Form<PlanForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let reason = read.note("reason", &form.reason, "Say what was looked at, and why nothing is to change.");
    let reason = read.finish(|| reason)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let before = drafted(&mut pen, id).await?;
    if before.version == 0 {
        return Err(crate::error::Refusal::of("Nothing is signed yet that could be reassessed.").into());
    }
    let plan = Named::new(id, before.document.name);
    pen.append(PlanReassessed { plan, version: before.version, reason }).await?;
    pen.commit().await
}

async fn sign_observation(app: &App, me: &Me, id: PlanId, form: &Form<PlanForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let check = read.value::<PlannedCheckId>("check", &form.check, "Choose the check that was watched.");
    let who = read.value::<PersonId>("who", &form.who, "Choose who made it.");
    let in_order = match form.in_order.as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => {
            read.refuse("in_order", "Say whether it was made as the plan says.");
            None
        }
    };
    let words = read.note("words", &form.words, "Say what was seen.");
    let (check, who, in_order, words) = read.finish(|| Some((check?, who?, in_order?, words?)))?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let plan = drafted(&mut pen, id).await?;
    let check = plan.document.check(check).map(entry::PlannedCheck::named);
    let check = check.ok_or_else(|| crate::error::Refusal::at("check", "This plan has no such check."))?;
    let who = person(&mut pen, who).await?;
    let signer = me.person.id;
    pen.append(entry::observe(MonitoringObserved { check, who, in_order, words }, signer)?).await?;
    pen.commit().await
}

async fn person(pen: &mut Pen, id: PersonId) -> Result<Named<PersonId>> {
    let all = people::people(pen).await?;
    let found = all.into_iter().find(|one| one.id == id).map(|one| Named::new(one.id, one.name));
    found.ok_or_else(|| crate::error::Refusal::at("who", "There is no such person.").into())
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: PlanId,
    form: PlanForm,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let plan = db::one(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let versions = db::versions(&mut conn, id).await?;
    let changes = match plan.since {
        Some(since) => db::changes_since(&mut conn, since).await?,
        None => vec![],
    };
    let covers = &plan.document.covers;
    let changes = changes
        .into_iter()
        .filter(|change| change.recipe.is_none_or(|kind| covers.contains(&kind)))
        .map(|change| {
            let what = if change.recipe.is_some() { "Recipe" } else { "Limit" };
            ChangeRow {
                href: format!("/entries/{}", change.seq),
                words: format!("{what} {}, {}", change.name, ledger::day(me, change.at)),
            }
        });
    let ids: Vec<PlannedCheckId> = plan.document.checks.iter().map(|check| check.id).collect();
    let mut entries = book::db::about(&mut conn, id.0, LINES).await?;
    let observed: Vec<_> = db::observations(&mut conn, &ids).await?.iter().map(|one| one.seq).collect();
    entries.extend(book::db::these(&mut conn, &observed).await?.into_iter().rev());
    let page = PlanPage {
        frame: Frame::new(app, me, Area::Checks),
        id,
        name: plan.document.name.clone(),
        standing: standing(me, &plan, versions.first()),
        caution: if plan.shipped.is_empty() { "" } else { CAUTION },
        lacks: if plan.draft { plan.document.lacks() } else { vec![] },
        changes: changes.collect(),
        shown: shown(&plan.document, me.shop.system, me.may(Right::Keep).then_some(id)),
        form_id: fresh_id(),
        reassess_id: fresh_id(),
        observe_id: fresh_id(),
        form,
        errors,
        versions: versions.iter().map(|version| version_row(me, version)).collect(),
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
        checks: plan.document.checks.iter().map(|check| Choice::new(check.id, check.name.clone())).collect(),
        people: people::people(&mut conn)
            .await?
            .into_iter()
            .map(|one| Choice::new(one.id, one.name))
            .collect(),
        draft: plan.draft,
        signed: plan.version > 0,
        may_keep: me.may(Right::Keep),
        may_review: me.may(Right::Review),
    };
    page::show(status, &page)
}

fn standing(me: &Me, plan: &db::Listed, version: Option<&db::Version>) -> String {
    let draft = if plan.draft { "A draft; it binds nobody until the owner signs it. " } else { "" };
    match version {
        None => format!("{draft}No version is signed yet."),
        Some(version) => format!(
            "{draft}Version {} stands, signed {} by {}.",
            version.version,
            day_text(me.shop.date(version.signed_at)),
            version.signed_by
        ),
    }
}

fn version_row(me: &Me, version: &db::Version) -> VersionRow {
    VersionRow {
        href: format!("{}/versions/{}", version.plan.path(), version.version),
        name: format!("Version {}", version.version),
        words: format!(
            "{}, {}: {}",
            day_text(me.shop.date(version.signed_at)),
            version.signed_by,
            version.reason
        ),
    }
}

#[derive(Template)]
#[template(path = "plan/version.html")]
struct VersionPage {
    frame: Frame,
    id: PlanId,
    name: String,
    said: String,
    shown: Shown,
}

/// GET `/plan/{id}/versions/{version}`
pub async fn version(
    State(app): State<App>,
    me: Me,
    Path((id, version)): Path<(PlanId, u32)>,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let all = db::versions(&mut conn, id).await?;
    let found = all.into_iter().find(|one| one.version == version).ok_or(Error::NotFound)?;
    let page = VersionPage {
        frame: Frame::new(&app, &me, Area::Checks),
        id,
        name: format!("{}, version {}", found.document.name, found.version),
        said: format!(
            "Signed {} by {}: {}. It never changes; batches begun under it keep it.",
            day_text(me.shop.date(found.signed_at)),
            found.signed_by,
            found.reason.trim_end_matches('.')
        ),
        shown: shown(&found.document, me.shop.system, None),
    };
    page::show(StatusCode::OK, &page)
}
