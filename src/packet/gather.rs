//! Reads the lines of a packet and fills its sections. Bodies are read some at a time, so that a year of the shop does not
//! stand in memory at once.

use std::collections::{BTreeMap, BTreeSet};

use sqlx::PgConnection;

use super::db::{self, Picked};
use super::drawing::Progress;
use super::entry::Scope;
use super::lines::Told;
use super::sections::{Section, Sections};
use crate::book::{self, Seq};
use crate::error::Result;
use crate::web::{App, Shop};

/// How many lines are read at once.
pub const AT_ONCE: usize = 2_000;

/// Everything that a packet prints.
pub struct Gathered {
    pub scope: Scope,
    pub picked: Picked,
    pub sections: Vec<Section>,
    /// Initials, and whose they are.
    pub signers: BTreeSet<(String, String)>,
    /// When the first and the last of its lines happened.
    pub span: Option<(time::OffsetDateTime, time::OffsetDateTime)>,
}

/// All of what was picked, as the book stands in this transaction.
pub async fn gather(
    app: &App,
    shop: &Shop,
    conn: &mut PgConnection,
    scope: Scope,
    picked: Picked,
    progress: &Progress,
) -> Result<Gathered> {
    let told = Told { shop, kinds: &app.book.kinds };
    let mut sections = Sections::new(db::sanitation(conn, &picked.seqs).await?);
    let mut done = 0;
    let mut signers: BTreeMap<String, String> = BTreeMap::new();
    let mut span: Option<(time::OffsetDateTime, time::OffsetDateTime)> = None;
    for some in picked.seqs.chunks(AT_ONCE) {
        for read in book::db::these(conn, some).await? {
            sections.see(told, &told.line(&read)?)?;
            let at = read.at.happened_at;
            span = Some(span.map_or((at, at), |(first, last)| (first.min(at), last.max(at))));
            signers.insert(read.initials, read.name);
        }
        done += some.len();
        progress.read(done, picked.seqs.len());
    }
    let sections = sections.done(told);
    let signers = signers.into_iter().collect();
    Ok(Gathered { scope, picked, sections, signers, span })
}

/// The last line of the book and its hash, as they stand on a cover.
pub fn head(picked: &Picked) -> (Seq, String) {
    (picked.upto, book::chain::hex(&picked.head))
}
