//! The files of a packet: the PDF, a table as CSV, and what was handed over before.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use crate::book::Seq;
use crate::error::{Error, Result};
use crate::packet::db;
use crate::packet::drawing::{self, Looked, MOST, Progress};
use crate::packet::entry::Scope;
use crate::web::csv::Csv;
use crate::web::{App, Me, Path, page};

/// GET `/packet/{scope}/packet.pdf`: drawn now, or, where that takes long, as it was drawn of the book as it stands.
pub async fn pdf(State(app): State<App>, me: Me, Path(scope): Path<String>) -> Result<Response> {
    let scope = read(&scope)?;
    match drawing::look(&app, &me.shop, scope).await? {
        Looked::Whole(gathered) => {
            let file = drawing::set(&app, &me.shop, &drawing::by(&me), gathered, &Arc::default()).await?;
            hand_out(scope, file.pdf)
        }
        Looked::Many(picked) if picked.seqs.len() > MOST => page::goto(&scope.path()),
        Looked::Many(picked) => {
            let latest = db::drawing::latest(&mut *app.db().await?, scope).await?;
            let stands = |drawing: &db::drawing::Drawing| {
                drawing.done.as_ref().is_some_and(|done| done.upto == picked.upto)
            };
            if let Some(drawing) = latest.filter(stands) {
                page::goto(&format!("{}/drawn/{}", scope.path(), drawing.id))
            } else {
                drawing::begin(&app, &me, scope).await?;
                page::goto(&scope.path())
            }
        }
    }
}

/// GET `/packet/{scope}/drawn/{id}`: the file of a packet that was drawn beside the requests.
pub async fn drawn(
    State(app): State<App>,
    _me: Me,
    Path((scope, id)): Path<(String, Uuid)>,
) -> Result<Response> {
    let scope = read(&scope)?;
    let file = db::drawing::file(&mut *app.db().await?, id, scope).await?.ok_or(Error::NotFound)?;
    hand_out(scope, file.pdf)
}

fn hand_out(scope: Scope, pdf: Vec<u8>) -> Result<Response> {
    page::file(&format!("packet-{scope}.pdf"), "application/pdf", pdf)
}

/// GET `/packet/{scope}/tables/{key}.csv`: the rows of one table, as they stand in the PDF.
pub async fn table(
    State(app): State<App>,
    me: Me,
    Path((scope, table)): Path<(String, String)>,
) -> Result<Response> {
    let scope = read(&scope)?;
    let key = table.strip_suffix(".csv").ok_or(Error::NotFound)?;
    let gathered = drawing::gathered(&app, &me.shop, scope, &Progress::default()).await?;
    let section = gathered.sections.into_iter().find(|section| section.key == key).ok_or(Error::NotFound)?;
    let mut heads: Vec<&str> = section.columns.iter().map(|column| column.head).collect();
    heads.push("Struck");
    let mut csv = Csv::new(&heads);
    for row in section.rows {
        let mut cells = row.cells;
        cells.push(row.struck.unwrap_or_default());
        csv.row(&cells);
    }
    page::file(&format!("packet-{scope}-{key}.csv"), "text/csv; charset=utf-8", csv.into_bytes())
}

/// GET `/packet/made/{seq}`: the file that was handed over, byte for byte.
pub async fn made(State(app): State<App>, _me: Me, Path(seq): Path<i64>) -> Result<Response> {
    let (pdf, hash) = db::of_file(&mut *app.db().await?, Seq(seq)).await?.ok_or(Error::NotFound)?;
    if Sha256::digest(&pdf)[..] != hash {
        return Err(
            anyhow::anyhow!("the file of packet {seq} is not the one whose hash is in the book").into()
        );
    }
    page::file(&format!("packet-line-{seq}.pdf"), "application/pdf", pdf)
}

/// What an address names, or nothing.
pub(super) fn read(scope: &str) -> Result<Scope> {
    scope.parse().map_err(|()| Error::NotFound)
}
