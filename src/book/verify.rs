//! Verify: does the book still say what was signed? The chain, the mass balance, and every projection.

use std::fmt;

use sqlx::PgPool;

use super::chain::{self, BEFORE_ALL};
use super::db::{self, Read};
use super::effects::Movement;
use super::entry::{Kinds, Seq};
use super::replay;
use crate::error::Result;

/// Something that does not fit, and the entry where it shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    pub seq: Option<Seq>,
    pub what: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.seq {
            Some(seq) => write!(f, "entry {seq}: {}", self.what),
            None => f.write_str(&self.what),
        }
    }
}

/// What verify found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    pub entries: usize,
    /// SHA-256 of the last entry, in hexadecimal: a copy of it kept elsewhere proves the whole book.
    pub head: String,
    /// In the order of the book; empty when everything fits.
    pub findings: Vec<Finding>,
}

/// How many differing rows of one table are named.
const NAMED: i64 = 20;

/// Reads the whole book and checks it against the tables, in one snapshot, without changing anything.
///
/// `migrations` are the texts that made the tables, in order: the replay needs empty ones.
pub async fn verify(pool: &PgPool, kinds: &Kinds, migrations: &[&str]) -> Result<Report> {
    let mut tx = pool.begin().await?;
    let live = db::one_snapshot(&mut tx).await?;
    let entries = db::read_all(&mut tx).await?;
    let moved = db::movements(&mut tx).await?;
    let mut findings = Vec::new();
    chain_holds(&entries, &moved, &mut findings)?;
    for (seq, code, says, is) in db::weigh_everything(&mut tx).await? {
        findings.push(Finding {
            seq: Some(seq),
            what: format!("{code} says {} g, its movements say {} g", says.decimal(), is.decimal()),
        });
    }
    for seal in kinds.seals {
        findings.extend(seal(&mut tx).await?);
    }
    if findings.is_empty() {
        db::scratch_schema(&mut tx, migrations).await?;
        match replay::all(&mut tx, kinds, &entries).await {
            Ok(_) => compare(&mut tx, &live, &mut findings).await?,
            Err(why) => findings.push(Finding { seq: None, what: why.to_string() }),
        }
    }
    // Nothing of the replay is kept.
    tx.rollback().await?;
    findings.sort_by_key(|finding| finding.seq.unwrap_or(Seq(i64::MAX)));
    let head = entries.last().map(|entry| chain::hex(&entry.hash)).unwrap_or_default();
    Ok(Report { entries: entries.len(), head, findings })
}

async fn compare(tx: &mut sqlx::PgConnection, live: &str, findings: &mut Vec<Finding>) -> Result<()> {
    for table in db::projections(tx).await? {
        for difference in db::compare(tx, live, &table, NAMED).await? {
            let who = if difference.live { "has a row that the book does not give" } else { "lacks a row" };
            findings.push(Finding {
                seq: difference.seq,
                what: format!("table {} {who}: {}", difference.table, difference.row),
            });
        }
    }
    Ok(())
}

/// Recomputes every hash. After the first break each later entry still stands on its own stored predecessor, so that
/// one change is one finding.
fn chain_holds(entries: &[Read], moved: &[(Seq, Movement)], findings: &mut Vec<Finding>) -> Result<()> {
    let mut prev = BEFORE_ALL;
    let mut rest = moved;
    for (entry, expected) in entries.iter().zip(1..) {
        let seq = entry.at.seq;
        let own = rest.iter().take_while(|(of, _)| *of == seq).count();
        let movements: Vec<Movement> = rest[..own].iter().map(|(_, movement)| *movement).collect();
        rest = &rest[own..];
        if seq != Seq(expected) {
            findings.push(Finding { seq: Some(Seq(expected)), what: format!("is missing; {seq} follows") });
            return Ok(());
        }
        if entry.prev != prev {
            findings.push(Finding { seq: Some(seq), what: "does not follow the entry before it".into() });
        }
        if chain::hash(&entry.at, &entry.kind, &entry.body, &movements, &entry.prev)? != entry.hash {
            let what = "is not what was signed: its text or its movements were changed";
            findings.push(Finding { seq: Some(seq), what: what.into() });
        }
        prev = entry.hash;
    }
    if let Some((seq, _)) = rest.first() {
        findings.push(Finding { seq: Some(*seq), what: "movements without an entry".into() });
    }
    Ok(())
}
