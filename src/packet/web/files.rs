//! The files of a packet: the PDF, a table as CSV, the lines as data, and what was handed over before.

use std::fmt::Write as _;

use axum::extract::State;
use axum::response::Response;
use sha2::{Digest, Sha256};

use super::draw;
use crate::book::chain::{self, hex};
use crate::book::{self, Seq};
use crate::error::{Error, Result};
use crate::packet::db;
use crate::packet::entry::Scope;
use crate::packet::gather::AT_ONCE;
use crate::packet::lines::Told;
use crate::packet::page::RECIPE;
use crate::web::csv::Csv;
use crate::web::{App, Me, Path, page};

/// GET `/packet/{scope}/packet.pdf`
pub async fn pdf(State(app): State<App>, me: Me, Path(scope): Path<String>) -> Result<Response> {
    let scope = read(&scope)?;
    let file = draw::draw(&app, &me, scope).await?;
    page::file(&format!("packet-{scope}.pdf"), "application/pdf", file.pdf)
}

/// GET `/packet/{scope}/tables/{key}.csv`: the rows of one table, as they stand in the PDF.
pub async fn table(
    State(app): State<App>,
    me: Me,
    Path((scope, table)): Path<(String, String)>,
) -> Result<Response> {
    let scope = read(&scope)?;
    let key = table.strip_suffix(".csv").ok_or(Error::NotFound)?;
    let gathered = draw::gathered(&app, &me, scope).await?;
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

/// GET `/packet/{scope}/lines.json`: the lines that it rests on, each in its canonical form, with its hash.
pub async fn lines(State(app): State<App>, me: Me, Path(scope): Path<String>) -> Result<Response> {
    let scope = read(&scope)?;
    let mut tx = app.book.pool.begin().await?;
    db::snapshot(&mut tx).await?;
    let picked = db::pick(&mut tx, scope, &me.shop.zone).await?.ok_or(Error::NotFound)?;
    let text = |text: &str| serde_json::to_string(text).map_err(anyhow::Error::from);
    let mut json = String::new();
    let recipe = serde_json::to_string(&RECIPE).map_err(anyhow::Error::from)?;
    let (shop, packet) = (text(&me.shop.name)?, text(&picked.name)?);
    let (upto, head) = (picked.upto, hex(&picked.head));
    let _ = write!(
        json,
        r#"{{"shop":{shop},"packet":{packet},"upto":"{upto}","head":"{head}","recipe":{recipe},"lines":["#
    );
    let told = Told { shop: &me.shop, kinds: &app.book.kinds };
    // Some at a time: bodies and what they moved stand in memory only until they are written down.
    for some in picked.seqs.chunks(AT_ONCE) {
        let moved = db::movements(&mut tx, some).await?;
        let mut rest = moved.as_slice();
        for read in book::db::these(&mut tx, some).await? {
            let own = rest.iter().take_while(|(seq, _)| *seq == read.at.seq).count();
            let movements: Vec<_> = rest[..own].iter().map(|(_, movement)| *movement).collect();
            rest = &rest[own..];
            let form = chain::form(&read.at, &read.kind, &read.body, &movements, &read.prev)?;
            let said = told.line(&read)?;
            let says = [&said.what, &said.figure, &said.why].map(String::as_str).join(" · ");
            let comma = if json.ends_with('[') { "" } else { "," };
            let struck = read.struck.as_ref().map_or(String::new(), |by| by.seq.to_string());
            let (hash, says, by) = (hex(&read.hash), text(&says)?, text(&read.name)?);
            let _ = write!(
                json,
                "{comma}\n{{\"form\":{form},\"hash\":\"{hash}\",\"says\":{says},\"by\":{by},\"struck_by\":\"{struck}\"}}"
            );
        }
    }
    json.push_str("\n]}\n");
    page::file(&format!("packet-{scope}-lines.json"), "application/json", json.into_bytes())
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
