//! What the batch's page says of its release.

use askama::Template;

use super::views::{self, LoosenedRow, Row};
use crate::ids::BatchId;
use crate::recipes::Stage;
use crate::release::{gather, path};
use crate::web::{App, Drawn, Me};

#[derive(Template)]
#[template(path = "release/panel.html")]
struct Panel {
    path: String,
    family: String,
    product: String,
    rows: Vec<Row>,
    loosened: Vec<LoosenedRow>,
    who_decides: &'static str,
}

/// The criteria of a batch that has pieces.
pub fn panel<'a>(app: &'a App, me: &'a Me, id: BatchId) -> Drawn<'a> {
    Box::pin(async move {
        let gathered = gather(&mut *app.db().await?, id, me).await?;
        let Some(gathered) = gathered.filter(|g| !g.evidence.pieces.is_empty()) else { return Ok(None) };
        if gathered.batch.stage == Stage::Making {
            return Ok(None);
        }
        let here: Vec<_> = gathered.evidence.pieces.iter().filter(|piece| piece.here).collect();
        let family = gathered.family.as_ref();
        let panel = Panel {
            path: path(id),
            family: family.map(|(family, _)| family.name.clone()).unwrap_or_default(),
            product: gathered.batch.product.name.clone(),
            rows: views::rows(id, &gathered.stood, &here),
            loosened: family.map(|(family, _)| views::loosened(family)).unwrap_or_default(),
            who_decides: super::WHO_DECIDES,
        };
        Ok(Some(panel.render().map_err(anyhow::Error::from)?))
    })
}
