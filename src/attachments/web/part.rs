//! The papers of a thing, on its own page.

use askama::Template;

use super::super::db;
use super::super::entry::About;
use super::{Row, row};
use crate::book::Seq;
use crate::error::Result;
use crate::ids::Named;
use crate::rights::Right;
use crate::web::{App, Drawn, Me, Topic};

/// Lines of the book whose pages offer to attach a paper: a laboratory's value, a calibration sent out.
const LINES: [&str; 4] = ["reading.taken", "check.recorded", "calibration.recorded", "freezing.recorded"];

#[derive(Template)]
#[template(path = "attachments/part.html")]
struct PapersPart {
    rows: Vec<Row>,
    /// Where a paper is attached; empty for who may not.
    attach: String,
}

/// What the page of a thing says of its papers.
pub fn part<'a>(app: &'a App, me: &'a Me, topic: Topic) -> Drawn<'a> {
    Box::pin(async move {
        let mut conn = app.db().await?;
        let about = about(topic);
        let papers = db::papers_of(&mut conn, &about).await?;
        if let (Topic::Line(seq), true) = (topic, papers.is_empty())
            && !offered(&mut conn, seq).await?
        {
            return Ok(None);
        }
        let may = me.may(Right::Check);
        let attach = if may { format!("/attachments?about={}", about.key()) } else { String::new() };
        if papers.is_empty() && !may {
            return Ok(None);
        }
        let part = PapersPart { rows: papers.iter().map(|paper| row(me, paper)).collect(), attach };
        Ok(Some(part.render().map_err(anyhow::Error::from)?))
    })
}

async fn offered(db: &mut sqlx::PgConnection, seq: Seq) -> Result<bool> {
    let kind = db::kind_of(db, seq).await?.unwrap_or_default();
    Ok(LINES.contains(&kind.as_str()))
}

/// By its id alone: what it is called stands on the page already.
fn about(topic: Topic) -> About {
    match topic {
        Topic::Supplier(id) => About::Supplier(Named::new(id, "")),
        Topic::Delivery(id) => About::Delivery(Named::new(id, "")),
        Topic::Lot(id) => About::Lot(Named::new(id, "")),
        Topic::Batch(id) => About::Batch(Named::new(id, "")),
        Topic::Deviation(id) => About::Deviation(Named::new(id, "")),
        Topic::Instrument(id) => About::Instrument(Named::new(id, "")),
        Topic::Line(seq) => About::Line(seq),
    }
}
