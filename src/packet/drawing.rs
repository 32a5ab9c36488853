//! Draws packets. One of a batch is drawn while it is asked for; one of many lines beside the requests, and its page says how
//! far it is.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use serde::{Deserialize, Serialize};
use sqlx::PgConnection;
use tokio::sync::Semaphore;
use uuid::Uuid;

use super::db::{self, Picked};
use super::entry::Scope;
use super::gather::{Gathered, gather, head};
use super::lines::Told;
use super::page::{Drawn, document};
use super::paper;
use crate::book::Seq;
use crate::error::{Error, Result};
use crate::web::{App, Me, Shop, fresh_id};

/// A packet that rests on more lines is drawn beside the requests.
pub const WHILE_ASKED: usize = 3_000;
/// The most lines that one packet rests on: until its file is written, all of it stands in memory.
pub const MOST: usize = 40_000;

/// How many packets are set at once; whoever comes next waits.
static AT_ONCE: Semaphore = Semaphore::const_new(2);
/// Those of many lines are drawn one by one: a year of twenty thousand lines takes some 300 MB.
static BESIDE: Semaphore = Semaphore::const_new(1);

/// A packet as a file, with what its cover says.
pub struct File {
    pub name: String,
    pub upto: Seq,
    pub head: String,
    pub lines: usize,
    pub tables: Vec<TableOf>,
    pub pdf: Vec<u8>,
}

/// A table of a packet.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct TableOf {
    pub key: String,
    pub name: String,
    pub rows: usize,
}

/// The tables of what was gathered.
pub fn tables(gathered: &Gathered) -> Vec<TableOf> {
    let table = |section: &super::sections::Section| TableOf {
        key: section.key.to_owned(),
        name: section.name.to_owned(),
        rows: section.rows.len(),
    };
    gathered.sections.iter().map(table).collect()
}

/// How far a drawing is: lines that were read, then sheets that were set, each half of the way.
#[derive(Debug, Default)]
pub struct Progress {
    read: AtomicUsize,
    set: AtomicUsize,
}

impl Progress {
    pub fn read(&self, done: usize, of: usize) {
        self.read.store(done * 50 / of.max(1), Ordering::Relaxed);
    }

    pub fn set(&self, done: usize, of: usize) {
        self.set.store(done * 50 / of.max(1), Ordering::Relaxed);
    }

    /// In per cent.
    fn percent(&self) -> i32 {
        let percent = self.read.load(Ordering::Relaxed) + self.set.load(Ordering::Relaxed);
        i32::try_from(percent.min(99)).unwrap_or(99)
    }
}

/// What there is of a thing.
pub enum Looked {
    /// Everything that its packet prints.
    Whole(Gathered),
    /// So many lines that it is drawn beside the requests.
    Many(Picked),
}

/// Picks the lines of a packet, and reads them where they are few.
pub async fn look(app: &App, shop: &Shop, scope: Scope) -> Result<Looked> {
    let mut tx = app.book.pool.begin().await?;
    let picked = pick(&mut tx, shop, scope).await?;
    if picked.seqs.len() > WHILE_ASKED {
        return Ok(Looked::Many(picked));
    }
    Ok(Looked::Whole(gather(app, shop, &mut tx, scope, picked, &Progress::default()).await?))
}

async fn pick(tx: &mut PgConnection, shop: &Shop, scope: Scope) -> Result<Picked> {
    db::snapshot(tx).await?;
    let picked = db::pick(tx, scope, &shop.zone).await?;
    picked.filter(|picked| !picked.seqs.is_empty()).ok_or(Error::NotFound)
}

/// Everything that a packet of this prints, however much it is.
pub async fn gathered(app: &App, shop: &Shop, scope: Scope, progress: &Progress) -> Result<Gathered> {
    let mut tx = app.book.pool.begin().await?;
    let picked = pick(&mut tx, shop, scope).await?;
    if picked.seqs.len() > MOST {
        return Err(Error::NotFound);
    }
    gather(app, shop, &mut tx, scope, picked, progress).await
}

/// Sets what was gathered on sheets.
pub async fn set(
    app: &App,
    shop: &Shop,
    by: &Drawn,
    gathered: Gathered,
    progress: &Arc<Progress>,
) -> Result<File> {
    let _turn = AT_ONCE.acquire().await.map_err(anyhow::Error::from)?;
    let (upto, head) = head(&gathered.picked);
    let (name, lines) = (gathered.picked.name.clone(), gathered.picked.seqs.len());
    let tables = tables(&gathered);
    let told = Told { shop, kinds: &app.book.kinds };
    let document = document(told, gathered, by);
    let progress = Arc::clone(progress);
    let set = move || paper::pdf(&document, &|done, of| progress.set(done, of));
    let pdf = tokio::task::spawn_blocking(set).await.map_err(anyhow::Error::from)??;
    Ok(File { name, upto, head, lines, tables, pdf })
}

async fn draw(app: &App, shop: &Shop, by: &Drawn, scope: Scope, progress: &Arc<Progress>) -> Result<File> {
    let _turn = BESIDE.acquire().await.map_err(anyhow::Error::from)?;
    let gathered = gathered(app, shop, scope, progress).await?;
    set(app, shop, by, gathered, progress).await
}

/// Who draws, and when.
pub fn by(me: &Me) -> Drawn {
    Drawn { name: me.person.name.clone(), initials: me.person.initials.clone(), at: me.now }
}

/// Begins to draw it beside the requests, where nobody is at it already.
pub async fn begin(app: &App, me: &Me, scope: Scope) -> Result<()> {
    let mut conn = app.db().await?;
    let latest = db::drawing::latest(&mut conn, scope).await?;
    if latest.is_some_and(|drawing| drawing.goes_on()) {
        return Ok(());
    }
    let id = fresh_id();
    db::drawing::begun(&mut conn, id, scope).await?;
    tokio::spawn(beside(app.clone(), Arc::clone(&me.shop), by(me), scope, id));
    Ok(())
}

async fn beside(app: App, shop: Arc<Shop>, by: Drawn, scope: Scope, id: Uuid) {
    let progress = Arc::new(Progress::default());
    let drawn = {
        let mut drawing = std::pin::pin!(draw(&app, &shop, &by, scope, &progress));
        let mut beat = tokio::time::interval(Duration::from_secs(1));
        loop {
            tokio::select! {
                drawn = &mut drawing => break drawn,
                _ = beat.tick() => {
                    if let Err(why) = say_how_far(&app, id, progress.percent()).await {
                        tracing::warn!(%why, "how far the drawing of a packet is was not noted");
                    }
                }
            }
        }
    };
    if let Err(why) = keep(&app, id, drawn).await {
        tracing::error!(%why, %scope, "a packet was drawn and not kept");
    }
}

async fn say_how_far(app: &App, id: Uuid, percent: i32) -> Result<()> {
    db::drawing::beat(&mut *app.db().await?, id, percent).await
}

async fn keep(app: &App, id: Uuid, drawn: Result<File>) -> Result<()> {
    let mut conn = app.db().await?;
    match drawn {
        Ok(file) => db::drawing::done(&mut conn, id, &file).await,
        Err(why) => {
            tracing::error!(%why, drawing = %id, "a packet could not be drawn");
            db::drawing::failed(&mut conn, id).await
        }
    }
}
