//! `/release/{batch}/review`: every line about a batch, what is open, and the signature of whoever has looked them over.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::views::{self, LoosenedRow, Row};
use crate::batches;
use crate::book::Seq;
use crate::error::{Error, Errors, Result};
use crate::ids::{BatchId, ReviewId};
use crate::release::entry::RecordsReviewed;
use crate::release::entry::judge::Reviewed;
use crate::release::entry::review::{self as rule, Reviewing};
use crate::release::{Gathered, db, gather, path};
use crate::rights::Right;
use crate::rights::needs::Review;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Line, Notice};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct ReviewForm {
    note: String,
    /// The last line that the page showed.
    upto: String,
}

#[derive(Template)]
#[template(path = "release/review.html")]
struct ReviewPage {
    frame: Frame,
    id: BatchId,
    code: String,
    product: String,
    release: String,
    form_id: Uuid,
    form: ReviewForm,
    errors: Errors,
    notice: Notice,
    loosened: Vec<LoosenedRow>,
    rows: Vec<Row>,
    lines: Vec<Line>,
    alone: bool,
    may_review: bool,
    who_decides: &'static str,
}

/// GET `/release/{batch}/review`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<BatchId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/release/{batch}/review`
pub async fn sign(
    State(app): State<App>,
    me: Signer<Review>,
    Path(id): Path<BatchId>,
    form: Form<ReviewForm>,
) -> Result<Response> {
    match write(&app, &me, id, &form).await {
        Ok(()) => page::goto(&path(id)),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn write(app: &App, me: &Me, id: BatchId, form: &Form<ReviewForm>) -> Result<()> {
    let mut read = Reader::new(&me.shop);
    let note = read.line_or_empty("note", &form.note);
    let upto = read.value::<u32>("", &form.upto, "Open the page again and look the records over.");
    let (note, upto) = read.finish(|| Some((note?, upto?)))?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let batch = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let who = db::makers(&mut pen, id, me.person.id).await?;
    // Never further than the book reached when the page was drawn.
    let upto = Seq(i64::from(upto).min(pen.next().seq.0 - 1));
    let review = ReviewId::made_by(pen.next().id);
    let reviewed = RecordsReviewed { review, batch: id, code: batch.code, upto, alone: false, note };
    pen.append(rule::review(reviewed, &who)?).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: BatchId,
    form: Option<ReviewForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let gathered = gather(&mut conn, id, me).await?.ok_or(Error::NotFound)?;
    let entries = db::record(&mut conn, id).await?;
    let who = db::makers(&mut conn, id, me.person.id).await?;
    let here: Vec<_> = gathered.evidence.pieces.iter().filter(|piece| piece.here).collect();
    let style = Style { days: true, strikes: true, ..Style::default() };
    let mut lines = ledger::lines(&app.book.kinds, me, &entries, style)?;
    let reviews = batches::reviews(&mut conn, id).await?;
    ledger::looked_over(&mut lines, entries.iter(), &reviews, batches::entry::is_record);
    let upto = entries.iter().map(|entry| entry.at.seq.0).max().unwrap_or_default();
    let page = ReviewPage {
        frame: Frame::new(app, me, Area::Batches),
        id,
        code: gathered.batch.code.to_string(),
        product: gathered.batch.product.name.clone(),
        release: path(id),
        form_id: fresh_id(),
        // What was looked at is what this page shows, also when the form comes back.
        form: ReviewForm { upto: upto.to_string(), ..form.unwrap_or_default() },
        errors,
        notice: notice(&gathered, &who),
        loosened: gathered.family.as_ref().map(|(family, _)| views::loosened(family)).unwrap_or_default(),
        rows: views::rows(id, &gathered.stood, &here),
        lines,
        alone: who.made_some() && who.people == 1,
        may_review: me.may(Right::Review) && (!who.made_some() || who.people == 1),
        who_decides: super::WHO_DECIDES,
    };
    page::show(status, &page)
}

fn notice(gathered: &Gathered, who: &Reviewing) -> Notice {
    match &gathered.evidence.review {
        Reviewed::Stands { seq, upto, initials, alone } => {
            let alone = if *alone { ", the shop's only person, who made records of it as well" } else { "" };
            let mut notice = Notice::new("met", format!("Reviewed by {initials}{alone}, up to line {upto}."));
            (notice.href, notice.link) = (format!("/entries/{seq}"), format!("Line {seq}"));
            notice
        }
        Reviewed::Stale { changed_by, .. } => {
            let text = format!("Line {changed_by} came after the last review, so it no longer stands.");
            let mut notice = Notice::new("late", text);
            (notice.href, notice.link) = (format!("/entries/{changed_by}"), format!("Line {changed_by}"));
            notice
        }
        Reviewed::Never if who.made_some() && who.people > 1 => Notice::new(
            "wait",
            "Not reviewed yet. You made records of this batch, so somebody else looks them over.",
        ),
        Reviewed::Never => Notice::new("wait", "Not reviewed yet."),
    }
}
