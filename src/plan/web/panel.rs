//! What a batch's page says of the plan that it was begun under.

use askama::Template;

use crate::ids::BatchId;
use crate::measure::day_text;
use crate::plan::db;
use crate::plan::entry::PlannedCheck;
use crate::web::{App, Drawn, Me};

struct Row {
    number: String,
    name: String,
    asked: String,
    how_often: String,
}

#[derive(Template)]
#[template(path = "plan/panel.html")]
struct Panel {
    href: String,
    name: String,
    said: String,
    rows: Vec<Row>,
}

/// The version of the plan that a batch was begun under; nothing where the shop has signed no plan at all.
pub fn panel<'a>(app: &'a App, me: &'a Me, id: BatchId) -> Drawn<'a> {
    Box::pin(async move {
        let mut conn = app.db().await?;
        let Some(version) = db::of_batch(&mut conn, id).await? else {
            if db::standing(&mut conn).await?.is_empty() {
                return Ok(None);
            }
            let panel = Panel {
                href: "/plan".into(),
                name: String::new(),
                said: "It was begun before a plan for its kind of recipe was signed.".into(),
                rows: vec![],
            };
            return Ok(Some(panel.render().map_err(anyhow::Error::from)?));
        };
        let row = |(n, check): (usize, &PlannedCheck)| Row {
            number: format!("CCP {}", n + 1),
            name: check.name.clone(),
            asked: check.asked(me.shop.system),
            how_often: check.every.text(),
        };
        let panel = Panel {
            href: format!("{}/versions/{}", version.plan.path(), version.version),
            name: format!("{}, version {}", version.document.name, version.version),
            said: format!(
                "Signed {} by {}, in force when the batch was begun.",
                day_text(me.shop.date(version.signed_at)),
                version.signed_by
            ),
            rows: version.document.ccps().enumerate().map(row).collect(),
        };
        Ok(Some(panel.render().map_err(anyhow::Error::from)?))
    })
}
