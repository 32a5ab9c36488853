//! The section on a batch's own page.

use askama::Template;

use super::super::db;
use super::super::entry::Adopted;
use super::super::found::stands;
use super::super::run::Run;
use super::state;
use crate::error::Result;
use crate::evidence::Found;
use crate::ids::BatchId;
use crate::standards::degree_hours::Rules;
use crate::web::parts::State;
use crate::web::{App, Drawn, Me};

struct Row {
    name: &'static str,
    words: String,
    state: State,
}

#[derive(Template)]
#[template(path = "fermenting/panel.html")]
struct Panel {
    href: String,
    rows: Vec<Row>,
    adopted: bool,
}

/// What it says of a batch that ferments; nothing of any other.
pub fn panel<'a>(app: &'a App, me: &'a Me, batch: BatchId) -> Drawn<'a> {
    Box::pin(draw(app, me, batch))
}

async fn draw(app: &App, me: &Me, batch: BatchId) -> Result<Option<String>> {
    let mut conn = app.db().await?;
    let run = db::run(&mut conn, batch, me.now).await?;
    let Some(run) = run.filter(|run| run.ferments && run.stuffed.is_some()) else { return Ok(None) };
    let adopted = db::adopted(&mut conn).await?.map(|written| written.adopted);
    let by = adopted.map_or_else(|| Rules::ALL.map(Adopted::as_published).to_vec(), |by| vec![by]);
    let panel = Panel {
        href: format!("/fermenting/{batch}"),
        rows: by.iter().map(|by| row(&run, by)).collect(),
        adopted: adopted.is_some(),
    };
    Ok(Some(panel.render().map_err(anyhow::Error::from)?))
}

fn row(run: &Run, by: &Adopted) -> Row {
    let reckoned = run.reckon(by);
    let words = match stands(run, by, &reckoned, None) {
        Found::Met { figure, .. } => figure,
        Found::NotYet { missing } => missing,
        Found::Failed { what, .. } => what,
    };
    Row { name: by.rules.set().name, words, state: state(reckoned.outcome) }
}
