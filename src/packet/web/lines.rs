//! `/packet/{scope}/lines.json`: the lines that a packet rests on, each in its canonical form, with its hash. They are sent as they
//! are read, so that a year of the shop does not stand in memory.

use std::fmt::Write as _;
use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use sqlx::{Postgres, Transaction};
use tokio::sync::mpsc::{self, Sender};

use super::files::read;
use crate::book::chain::{self, hex};
use crate::book::{self, Kinds, Seq};
use crate::error::{Error, Result};
use crate::packet::db::{self, Picked};
use crate::packet::gather::AT_ONCE;
use crate::packet::lines::Told;
use crate::packet::page::RECIPE;
use crate::web::{App, Me, Path, Shop, page};

/// GET `/packet/{scope}/lines.json`
pub async fn lines(State(app): State<App>, me: Me, Path(scope): Path<String>) -> Result<Response> {
    let scope = read(&scope)?;
    let mut tx = app.book.pool.begin().await?;
    db::snapshot(&mut tx).await?;
    let picked = db::pick(&mut tx, scope, &me.shop.zone).await?.ok_or(Error::NotFound)?;
    let head = head(&me.shop, &picked)?;
    let (to, from) = mpsc::channel(2);
    tokio::spawn(send(tx, Arc::clone(&me.shop), Arc::clone(&app.book.kinds), head, picked.seqs, to));
    page::stream(&format!("packet-{scope}-lines.json"), "application/json", from)
}

fn text(text: &str) -> Result<String> {
    Ok(serde_json::to_string(text).map_err(anyhow::Error::from)?)
}

/// What stands before the lines.
fn head(shop: &Shop, picked: &Picked) -> Result<String> {
    let recipe = serde_json::to_string(&RECIPE).map_err(anyhow::Error::from)?;
    let (shop, packet) = (text(&shop.name)?, text(&picked.name)?);
    let (upto, head) = (picked.upto, hex(&picked.head));
    Ok(format!(
        r#"{{"shop":{shop},"packet":{packet},"upto":"{upto}","head":"{head}","recipe":{recipe},"lines":["#
    ))
}

/// Sends some lines at a time, until all are sent or nobody takes them any more.
async fn send(
    mut tx: Transaction<'static, Postgres>,
    shop: Arc<Shop>,
    kinds: Arc<Kinds>,
    head: String,
    seqs: Vec<Seq>,
    to: Sender<Result<String>>,
) {
    let told = Told { shop: &shop, kinds: &kinds };
    let mut before = head;
    for some in seqs.chunks(AT_ONCE) {
        let written = write(&mut tx, told, some, before).await;
        let broken = written.is_err();
        if to.send(written).await.is_err() || broken {
            return;
        }
        before = ",".to_owned();
    }
    // Whoever has left misses nothing.
    let _ = to.send(Ok("\n]}\n".to_owned())).await;
}

/// Some lines, after what stands before the first of them.
async fn write(
    tx: &mut Transaction<'static, Postgres>,
    told: Told<'_>,
    some: &[Seq],
    before: String,
) -> Result<String> {
    let mut json = before;
    let mut comma = "";
    let moved = db::movements(tx, some).await?;
    let mut rest = moved.as_slice();
    for read in book::db::these(tx, some).await? {
        let own = rest.iter().take_while(|(seq, _)| *seq == read.at.seq).count();
        let movements: Vec<_> = rest[..own].iter().map(|(_, movement)| *movement).collect();
        rest = &rest[own..];
        let form = chain::form(&read.at, &read.kind, &read.body, &movements, &read.prev)?;
        let said = told.line(&read)?;
        let says = [&said.what, &said.figure, &said.why].map(String::as_str).join(" · ");
        let struck = read.struck.as_ref().map_or(String::new(), |by| by.seq.to_string());
        let (hash, says, by) = (hex(&read.hash), text(&says)?, text(&read.name)?);
        let _ = write!(
            json,
            "{comma}\n{{\"form\":{form},\"hash\":\"{hash}\",\"says\":{says},\"by\":{by},\"struck_by\":\"{struck}\"}}"
        );
        comma = ",";
    }
    Ok(json)
}
