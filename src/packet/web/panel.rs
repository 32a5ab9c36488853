//! What the batch's page says of its packet.

use askama::Template;

use crate::ids::BatchId;
use crate::packet::entry::Scope;
use crate::web::{App, Drawn, Me};

#[derive(Template)]
#[template(path = "packet/panel.html")]
struct Panel {
    path: String,
}

/// Every batch has a packet.
pub fn panel<'a>(_app: &'a App, _me: &'a Me, id: BatchId) -> Drawn<'a> {
    Box::pin(async move {
        let panel = Panel { path: Scope::Batch(id).path() };
        Ok(Some(panel.render().map_err(anyhow::Error::from)?))
    })
}
