//! What drying adds to the page of a batch: the wettest and the driest piece, and the span of the forecasts.

use askama::Template;

use super::super::forecast::{Ahead, Forecast};
use super::super::{FOR_PLANNING, db, path};
use super::rows;
use crate::error::Result;
use crate::ids::BatchId;
use crate::web::parts::Figure;
use crate::web::{App, Drawn, Me, ledger};

#[derive(Template)]
#[template(path = "drying/panel.html")]
struct DryingPanel {
    figures: Vec<Figure>,
    ahead: String,
    href: String,
    for_planning: &'static str,
}

/// The section, once a piece hangs.
pub fn panel<'a>(app: &'a App, me: &'a Me, batch: BatchId) -> Drawn<'a> {
    Box::pin(draw(app, me, batch))
}

async fn draw(app: &App, me: &Me, batch: BatchId) -> Result<Option<String>> {
    let history = db::history(&mut *app.db().await?, batch).await?;
    let pieces: Vec<_> = history.of_batch(batch).filter(|piece| piece.on_hand).collect();
    if pieces.is_empty() {
        return Ok(None);
    }
    let ahead: Vec<Ahead> = pieces.iter().map(|piece| history.ahead(piece)).collect();
    let foretold: Vec<&Forecast> = ahead
        .iter()
        .filter_map(|ahead| if let Ahead::Foretold(forecast) = ahead { Some(forecast) } else { None })
        .collect();
    let reached = ahead.iter().filter(|ahead| matches!(ahead, Ahead::Reached(_))).count();
    let first = foretold.iter().map(|forecast| forecast.early).min();
    let last = foretold.iter().map(|forecast| forecast.late).max();
    let said = match (first, last) {
        (Some(first), Some(last)) => format!(
            "{} of {} pieces have reached the target; the others may between {} and {}.",
            reached,
            pieces.len(),
            ledger::day(me, first),
            ledger::day(me, last)
        ),
        _ if reached == pieces.len() => format!("All {reached} pieces have reached the target."),
        _ => {
            match ahead.iter().find_map(|ahead| if let Ahead::Cannot(why) = ahead { Some(why) } else { None })
            {
                Some(why) => format!("No forecast: {why}"),
                None => String::new(),
            }
        }
    };
    let panel = DryingPanel {
        figures: rows::figures(me, &pieces),
        ahead: said,
        href: path(batch),
        for_planning: FOR_PLANNING,
    };
    Ok(Some(panel.render().map_err(anyhow::Error::from)?))
}
