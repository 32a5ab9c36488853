//! Criteria as pages show them: how each stands, by which lines, how it is found and where it comes from.

use sqlx::PgConnection;

use crate::book::Seq;
use crate::error::Result;
use crate::evidence::Found;
use crate::ids::{BatchId, LotId};
use crate::release::entry::judge::PieceKnown;
use crate::release::entry::{Asks, FamilyWritten, Of, Stood};
use crate::release::gather::{Gathered, gather};
use crate::web::Me;
use crate::web::parts::{Stand, State};
use crate::{cold, fermenting};

/// A line that showed it.
pub struct By {
    pub href: String,
    pub words: String,
}

/// How a criterion stands for one piece.
pub struct PieceRow {
    pub href: String,
    pub code: String,
    pub state: State,
    pub said: String,
    pub by: Vec<By>,
}

/// A criterion.
pub struct Row {
    pub state: State,
    pub what: String,
    pub said: String,
    pub by: Vec<By>,
    /// Where it is found piece by piece.
    pub pieces: Vec<PieceRow>,
    /// Where it can be decided, as long as it is not met; empty where there is no such page.
    pub href: String,
    pub how: &'static str,
    pub source: String,
}

fn by(seqs: &[Seq]) -> Vec<By> {
    let mut all: Vec<Seq> = seqs.to_vec();
    all.sort_unstable();
    all.dedup();
    all.into_iter().map(|seq| By { href: format!("/entries/{seq}"), words: format!("line {seq}") }).collect()
}

/// The mark, what is said, and the lines.
pub fn found(found: &Found) -> (State, String, Vec<By>) {
    match found {
        Found::Met { figure, by: seqs } => (State::new("met", "met"), figure.clone(), by(seqs)),
        Found::NotYet { missing } => (State::new("wait", "not yet"), missing.clone(), vec![]),
        Found::Failed { what, may, by: seqs } => {
            (State::new("out", "not met"), format!("{what}. {may}"), by(seqs))
        }
    }
}

/// Every criterion of a batch; piece by piece for those that are looked at, in the order of `pieces`.
pub fn rows(batch: BatchId, stood: &[Stood], pieces: &[&PieceKnown]) -> Vec<Row> {
    stood.iter().map(|one| row(batch, one, pieces)).collect()
}

fn row(batch: BatchId, one: &Stood, pieces: &[&PieceKnown]) -> Row {
    let (what, how) = (one.criterion.rule.words(), one.criterion.rule.asks().how());
    let source = one.criterion.source.clone();
    let rows = match &one.of {
        Of::Batch(found) => {
            let (state, said, by) = self::found(found);
            let href = decided_at(batch, one.criterion.rule.asks(), found);
            return Row { state, what, said, by, pieces: vec![], href, how, source };
        }
        Of::Pieces(_) => pieces.iter().filter_map(|piece| {
            let (state, said, by) = found(one.of_piece(piece.lot)?);
            Some(PieceRow { href: piece.lot.path(), code: piece.code.clone(), state, said, by })
        }),
    };
    let rows: Vec<PieceRow> = rows.collect();
    let met = rows.iter().filter(|row| row.state.mark == "met").count();
    let failed = rows.iter().any(|row| row.state.mark == "out");
    let state = match met {
        _ if rows.is_empty() => State::new("gone", "no piece"),
        met if met == rows.len() => State::new("met", "met"),
        _ if failed => State::new("out", "not met"),
        _ => State::new("wait", "not yet"),
    };
    let first = rows.iter().find(|row| row.state.mark != "met").map(|row| row.said.clone());
    let said = match (first, rows.as_slice()) {
        (Some(first), [_]) => first,
        (Some(first), _) => format!("{met} of {} pieces. {first}", rows.len()),
        (None, [only]) => only.said.clone(),
        (None, [first, rest @ ..]) if rest.iter().all(|row| row.said == first.said) => {
            format!("{}, {} pieces", first.said, rows.len())
        }
        (None, rows) => format!("{} pieces", rows.len()),
    };
    Row { state, what, said, by: vec![], pieces: rows, href: String::new(), how, source }
}

/// The page on which what is not met by waiting is decided.
fn decided_at(batch: BatchId, asks: Asks, found: &Found) -> String {
    match (asks, found) {
        (Asks::Cold, Found::Failed { .. }) => cold::path(batch),
        (Asks::Fermentation, Found::Failed { .. }) => fermenting::path(batch),
        _ => String::new(),
    }
}

/// What a family asks less than the shipped one: each says on what it rests, on every page that rests on it.
pub struct LoosenedRow {
    pub from: String,
    pub to: String,
    pub reason: String,
    pub document: String,
}

pub fn loosened(family: &FamilyWritten) -> Vec<LoosenedRow> {
    let row = |one: &crate::release::entry::family::Loosened| LoosenedRow {
        from: one.from.clone(),
        to: if one.to.is_empty() { "not asked".into() } else { one.to.clone() },
        reason: one.reason.clone(),
        document: one.document.clone(),
    };
    family.loosened.iter().map(row).collect()
}

/// The criteria of one piece, for the page of its life; and what of its family was loosened.
pub async fn piece_stands(
    me: &Me,
    conn: &mut PgConnection,
    batch: BatchId,
    lot: LotId,
) -> Result<Vec<Stand>> {
    let Some(gathered) = gather(conn, batch, me).await? else { return Ok(vec![]) };
    let Some((family, version)) = &gathered.family else {
        return Ok(vec![Stand {
            state: State::new("wait", "not yet"),
            what: format!("{} is in no family of products", gathered.batch.product.name),
            note: "What it needs before it is sold is not written down.".into(),
            href: "/release/families".into(),
        }]);
    };
    Ok(stands(&gathered, family, *version, lot))
}

fn stands(gathered: &Gathered, family: &FamilyWritten, version: u32, lot: LotId) -> Vec<Stand> {
    let one = |stood: &Stood| {
        let (state, note, by) = found(stood.of_piece(lot)?);
        let href = by.last().map(|by| by.href.clone()).unwrap_or_default();
        Some(Stand { state, what: stood.criterion.rule.words(), note, href })
    };
    let mut all: Vec<Stand> = gathered.stood.iter().filter_map(one).collect();
    all.extend(family.loosened.iter().map(|loose| Stand {
        state: State::new("late", "loosened"),
        what: format!("{}: {}", family.name, loose.from),
        note: format!(
            "{}. {}; {}",
            if loose.to.is_empty() { "Not asked" } else { &loose.to },
            loose.reason,
            loose.document
        ),
        href: family.family.path(),
    }));
    all.push(Stand {
        state: State::new("met", "family"),
        what: format!("{}, version {version}", family.name),
        note: "what it asks, and where each figure comes from".into(),
        href: family.family.path(),
    });
    all
}
