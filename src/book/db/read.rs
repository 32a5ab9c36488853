//! What the pages and the rules read of the book.

use std::collections::BTreeMap;

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::chain::Hash;
use crate::book::effects::{Form, Role};
use crate::book::entry::{Seq, Written};
use crate::book::lot::Lot;
use crate::book::strike::Later;
use crate::error::Result;
use crate::ids::{ItemId, LotId, PersonId, PlaceId};
use crate::measure::{Grams, LotCode};

/// An entry as it is read.
#[derive(Debug, Clone)]
pub struct Read {
    pub at: Written,
    pub kind: String,
    pub body: String,
    pub prev: Hash,
    pub hash: Hash,
    pub initials: String,
    pub name: String,
    pub struck: Option<StruckBy>,
}

/// The line that strikes an entry.
#[derive(Debug, Clone)]
pub struct StruckBy {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub initials: String,
    pub reason: String,
}

struct Row {
    seq: Seq,
    id: Uuid,
    kind: String,
    happened_at: OffsetDateTime,
    recorded_at: OffsetDateTime,
    person: PersonId,
    body: String,
    prev_hash: Vec<u8>,
    hash: Vec<u8>,
    initials: Option<String>,
    name: Option<String>,
    struck_by: Option<Seq>,
    struck_at: Option<OffsetDateTime>,
    struck_initials: Option<String>,
    struck_reason: Option<String>,
}

impl Row {
    fn read(self) -> Result<Read> {
        let struck = match (self.struck_by, self.struck_at, self.struck_reason) {
            (Some(seq), Some(at), Some(reason)) => {
                Some(StruckBy { seq, at, initials: self.struck_initials.unwrap_or_default(), reason })
            }
            _ => None,
        };
        Ok(Read {
            at: Written {
                seq: self.seq,
                id: self.id,
                person: self.person,
                happened_at: self.happened_at,
                recorded_at: self.recorded_at,
            },
            kind: self.kind,
            body: self.body,
            prev: Hash::try_from(self.prev_hash.as_slice()).map_err(anyhow::Error::from)?,
            hash: Hash::try_from(self.hash.as_slice()).map_err(anyhow::Error::from)?,
            initials: self.initials.unwrap_or_default(),
            name: self.name.unwrap_or_default(),
            struck,
        })
    }
}

/// `query_as!` takes its text literally, so the columns that every reading of entries shares stand here once.
macro_rules! entries {
    ($tail:literal, $($arg:expr),*) => {
        query_as!(
            Row,
            r#"SELECT e.seq AS "seq: Seq", e.id, e.kind, e.happened_at, e.recorded_at, e.person AS "person: PersonId",
                      e.body, e.prev_hash, e.hash, w.initials AS "initials?", w.name AS "name?",
                      k.by_seq AS "struck_by?: Seq", b.happened_at AS "struck_at?",
                      v.initials AS "struck_initials?", k.reason AS "struck_reason?"
               FROM entry e
               LEFT JOIN signer w ON w.id = e.person
               LEFT JOIN strike k ON k.seq = e.seq
               LEFT JOIN entry b ON b.seq = k.by_seq
               LEFT JOIN signer v ON v.id = b.person "# + $tail,
            $($arg),*
        )
    };
}

/// One entry.
pub async fn read_entry(db: &mut PgConnection, seq: Seq) -> Result<Option<Read>> {
    entries!("WHERE e.seq = $1", seq as Seq).fetch_optional(db).await?.map(Row::read).transpose()
}

/// The entry that a form made.
pub async fn seq_of(db: &mut PgConnection, id: Uuid) -> Result<Option<Seq>> {
    Ok(query_scalar!(r#"SELECT seq AS "seq: Seq" FROM entry WHERE id = $1"#, id).fetch_optional(db).await?)
}

/// Every entry that speaks of `subject`, the latest first.
pub async fn about(db: &mut PgConnection, subject: Uuid, limit: i64) -> Result<Vec<Read>> {
    let tail = entries!(
        "JOIN about a ON a.seq = e.seq WHERE a.subject = $1 ORDER BY e.seq DESC LIMIT $2",
        subject,
        limit
    );
    tail.fetch_all(db).await?.into_iter().map(Row::read).collect()
}

/// These entries, in the order of the book.
pub async fn these(db: &mut PgConnection, seqs: &[Seq]) -> Result<Vec<Read>> {
    let seqs: Vec<i64> = seqs.iter().map(|seq| seq.0).collect();
    let tail = entries!("WHERE e.seq = ANY($1) ORDER BY e.seq", &seqs);
    tail.fetch_all(db).await?.into_iter().map(Row::read).collect()
}

/// The entries before `seq`, the latest first: a page of the book.
pub async fn before(db: &mut PgConnection, seq: Seq, limit: i64) -> Result<Vec<Read>> {
    entries!("WHERE e.seq < $1 ORDER BY e.seq DESC LIMIT $2", seq as Seq, limit)
        .fetch_all(db)
        .await?
        .into_iter()
        .map(Row::read)
        .collect()
}

/// What happened from one moment up to another, in the order of the book.
pub async fn of_day(db: &mut PgConnection, from: OffsetDateTime, to: OffsetDateTime) -> Result<Vec<Read>> {
    entries!("WHERE e.happened_at >= $1 AND e.happened_at < $2 ORDER BY e.seq", from, to)
        .fetch_all(db)
        .await?
        .into_iter()
        .map(Row::read)
        .collect()
}

/// The entries of one kind that happened since a moment, the latest first.
pub async fn of_kind(
    db: &mut PgConnection,
    kind: &str,
    since: OffsetDateTime,
    limit: i64,
) -> Result<Vec<Read>> {
    entries!("WHERE e.kind = $1 AND e.happened_at >= $2 ORDER BY e.seq DESC LIMIT $3", kind, since, limit)
        .fetch_all(db)
        .await?
        .into_iter()
        .map(Row::read)
        .collect()
}

/// Up to `limit` entries after `seq`, in the order of the book.
pub async fn since(db: &mut PgConnection, seq: Seq, limit: i64) -> Result<Vec<Read>> {
    entries!("WHERE e.seq > $1 ORDER BY e.seq LIMIT $2", seq as Seq, limit)
        .fetch_all(db)
        .await?
        .into_iter()
        .map(Row::read)
        .collect()
}

/// The whole book, in order.
pub async fn read_all(db: &mut PgConnection) -> Result<Vec<Read>> {
    since(db, Seq(0), i64::MAX).await
}

/// What each lot that an entry moved holds now, and what the entry moved on it.
pub async fn moved_by(db: &mut PgConnection, seq: Seq) -> Result<BTreeMap<LotId, (Grams, Grams)>> {
    let rows = query!(
        r#"SELECT l.id AS "id: LotId", l.grams AS "grams: Grams", sum(m.grams) AS "moved!: Grams"
           FROM movement m JOIN lot l ON l.id = m.lot WHERE m.seq = $1 GROUP BY l.id"#,
        seq as Seq
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, (row.grams, row.moved))).collect())
}

/// Later entries, not struck, that speak of what this entry speaks of.
pub async fn later_than(db: &mut PgConnection, seq: Seq) -> Result<Vec<Later>> {
    let rows = query_as!(
        Later,
        r#"SELECT a.seq AS "seq: Seq", a.subject, a.role AS "role: Role",
                  coalesce((SELECT sum(m.grams) FROM movement m WHERE m.seq = a.seq AND m.lot = a.subject), 0)
                      AS "grams!: Grams"
           FROM about old
           JOIN about a ON a.subject = old.subject AND a.seq > old.seq
           JOIN entry e ON e.seq = a.seq
           WHERE old.seq = $1 AND e.kind <> 'entry.struck'
             AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = a.seq)
           ORDER BY a.seq"#,
        seq as Seq
    )
    .fetch_all(db)
    .await?;
    Ok(rows)
}

struct LotRow {
    id: LotId,
    code: LotCode,
    form: Form,
    item: ItemId,
    item_name: String,
    place: Option<PlaceId>,
    grams: Grams,
    seq: Seq,
    held: Option<String>,
    struck: bool,
}

impl From<LotRow> for Lot {
    fn from(row: LotRow) -> Self {
        let LotRow { id, code, form, item, item_name, place, grams, seq, held, struck } = row;
        Self { id, code, form, item, item_name, place, grams, seq, held, struck }
    }
}

macro_rules! lots {
    ($tail:literal, $($arg:expr),*) => {
        query_as!(
            LotRow,
            r#"SELECT l.id AS "id: LotId", l.code AS "code: LotCode", l.form AS "form: Form",
                      l.item AS "item: ItemId", l.item_name, l.place AS "place: PlaceId", l.grams AS "grams: Grams",
                      l.seq AS "seq: Seq", l.struck_by IS NOT NULL AS "struck!",
                      (SELECT h.reason FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL
                       ORDER BY h.seq LIMIT 1) AS held
               FROM lot l "# + $tail,
            $($arg),*
        )
    };
}

/// A lot as it stands now.
pub async fn lot(db: &mut PgConnection, id: LotId) -> Result<Option<Lot>> {
    Ok(lots!("WHERE l.id = $1", id.0).fetch_optional(db).await?.map(Lot::from))
}

/// The lot with this code on its tag.
pub async fn lot_by_code(db: &mut PgConnection, code: &LotCode) -> Result<Option<Lot>> {
    Ok(lots!("WHERE l.code = $1", code.to_string()).fetch_optional(db).await?.map(Lot::from))
}

/// Several lots, in the order of their codes. Unknown ids are left out.
pub async fn lots(db: &mut PgConnection, ids: &[LotId]) -> Result<Vec<Lot>> {
    let ids: Vec<Uuid> = ids.iter().map(|id| id.0).collect();
    let rows = lots!("WHERE l.id = ANY($1) ORDER BY l.code_day, l.code_number, l.code_piece", &ids)
        .fetch_all(db)
        .await?;
    Ok(rows.into_iter().map(Lot::from).collect())
}
