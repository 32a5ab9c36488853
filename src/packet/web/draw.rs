//! Draws a packet: gathered in one snapshot of the book, then laid out away from what answers requests.

use tokio::sync::Semaphore;

use crate::error::{Error, Result};
use crate::packet::db;
use crate::packet::entry::Scope;
use crate::packet::gather::{Gathered, gather};
use crate::packet::lines::Told;
use crate::packet::page::{Drawn, document};
use crate::packet::paper;
use crate::web::{App, Me};

/// How many packets are drawn at once; whoever comes next waits. A year of the shop takes some memory.
static AT_ONCE: Semaphore = Semaphore::const_new(2);

/// A packet as a file, with what its cover says.
pub struct File {
    pub name: String,
    pub upto: crate::book::Seq,
    pub head: String,
    pub lines: usize,
    pub pdf: Vec<u8>,
}

/// Everything that a packet of this prints.
pub async fn gathered(app: &App, me: &Me, scope: Scope) -> Result<Gathered> {
    let mut tx = app.book.pool.begin().await?;
    db::snapshot(&mut tx).await?;
    gather(app, &me.shop, &mut tx, scope)
        .await?
        .filter(|all| !all.picked.seqs.is_empty())
        .ok_or(Error::NotFound)
}

/// The packet, drawn by whoever asks for it, now.
pub async fn draw(app: &App, me: &Me, scope: Scope) -> Result<File> {
    let _turn = AT_ONCE.acquire().await.map_err(anyhow::Error::from)?;
    let gathered = gathered(app, me, scope).await?;
    let (upto, head) = crate::packet::gather::head(&gathered.picked);
    let (name, lines) = (gathered.picked.name.clone(), gathered.picked.seqs.len());
    let drawn = Drawn { name: me.person.name.clone(), initials: me.person.initials.clone(), at: me.now };
    let told = Told { shop: &me.shop, kinds: &app.book.kinds };
    let document = document(told, gathered, &drawn);
    let pdf =
        tokio::task::spawn_blocking(move || paper::pdf(&document)).await.map_err(anyhow::Error::from)??;
    Ok(File { name, upto, head, lines, pdf })
}
