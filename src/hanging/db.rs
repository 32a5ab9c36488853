//! SQL of what hangs: moves, weigh-ins, and how far along each piece is.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use super::entry::{LotsMoved, OnTheHook, PieceWeighed};
use super::hung::Hung;
use crate::book::{self, Form, Project, Seq, Written};
use crate::error::Result;
use crate::ids::{BatchId, LotId, PlaceId};
use crate::measure::{Grams, LotCode, Percent};

impl Project for LotsMoved {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let lots: Vec<Uuid> = self.lots.iter().map(|lot| lot.id.0).collect();
        // A move without a hook takes a piece off the one that it hung on, so it is written down as well.
        query!(
            "INSERT INTO hook (seq, lot, hook) SELECT $1, u.lot, $3 FROM unnest($2::uuid[]) AS u(lot)",
            at.seq as Seq,
            &lots,
            self.hook
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE hook SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq).execute(db).await?;
        Ok(())
    }
}

impl Project for PieceWeighed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO weigh_in (seq, lot, grams, before, at) VALUES ($1, $2, $3, $4, $5)",
            at.seq as Seq,
            self.lot.id.0,
            self.weight as Grams,
            self.before as Grams,
            at.happened_at
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE weigh_in SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

/// A lot as the rule of a weigh-in needs to know it.
pub async fn on_the_hook(db: &mut PgConnection, lot: LotId) -> Result<Option<OnTheHook>> {
    let Some(lot) = book::db::lot(db, lot).await? else { return Ok(None) };
    let row = query!(
        r#"SELECT p.batch AS "batch?: BatchId", p.green AS "green?: Grams",
                  (SELECT sum(m.grams) FROM movement m JOIN entry e ON e.seq = m.seq
                   WHERE m.lot = l.id AND m.grams > 0 AND e.kind NOT IN ('piece.weighed', 'entry.struck')
                     AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = m.seq)) AS "went_in: Grams",
                  coalesce(b.stage IN ('curing', 'resting'), false) AS "in_cure!",
                  coalesce((SELECT max(w.at) FROM weigh_in w WHERE w.lot = l.id AND w.struck_by IS NULL),
                           p.green_at, l.opened_at) AS "since!",
                  EXISTS (SELECT 1 FROM breakdown d WHERE d.lot = l.id AND d.closed_by IS NULL
                          AND d.struck_by IS NULL) AS "on_the_block!"
           FROM lot l
           LEFT JOIN piece p ON p.lot = l.id AND p.struck_by IS NULL
           LEFT JOIN batch b ON b.id = p.batch
           WHERE l.id = $1"#,
        lot.id.0
    )
    .fetch_one(db)
    .await?;
    Ok(Some(OnTheHook {
        lot,
        batch: row.batch,
        in_cure: row.in_cure,
        green: row.green,
        went_in: row.went_in.unwrap_or_default(),
        since: row.since,
        on_the_block: row.on_the_block,
    }))
}

/// `query_as!` takes its text literally, so what every reading of pieces shares stands here once.
macro_rules! pieces {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            Hung,
            r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.grams AS "grams: Grams",
                      l.place AS "place: PlaceId", at.name AS "place_name?", k.hook AS "hook?",
                      (SELECT h.reason FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL
                       ORDER BY h.seq LIMIT 1) AS held,
                      b.id AS "batch: BatchId", b.code AS "batch_code: LotCode", b.stage, b.stage_at,
                      p.green AS "green: Grams", p.green_at, p.target_loss AS "target_loss: Percent", p.weigh_every,
                      p.released_by IS NOT NULL AS "released!", w.grams AS "last_grams?: Grams", w.at AS "last_at?"
               FROM piece p
               JOIN lot l ON l.id = p.lot
               JOIN batch b ON b.id = p.batch
               LEFT JOIN place at ON at.id = l.place
               LEFT JOIN LATERAL (SELECT nullif(o.hook, '') AS hook FROM hook o
                                  WHERE o.lot = l.id AND o.struck_by IS NULL ORDER BY o.seq DESC LIMIT 1) k ON true
               LEFT JOIN LATERAL (SELECT i.grams, i.at FROM weigh_in i
                                  WHERE i.lot = l.id AND i.struck_by IS NULL ORDER BY i.seq DESC LIMIT 1) w ON true
               WHERE p.struck_by IS NULL AND "# + $tail + r#" ORDER BY lower(at.name), k.hook IS NULL,
                        length(k.hook), k.hook, l.code_day, l.code_number, l.code_piece"#
            $(, $arg)*
        )
    };
}

/// Every piece in the shop, by place, along the rail.
pub async fn hanging(db: &mut PgConnection) -> Result<Vec<Hung>> {
    Ok(pieces!("l.grams > 0").fetch_all(db).await?)
}

/// The pieces in a place and in what is inside it, along the rail.
pub async fn hanging_in(db: &mut PgConnection, place: PlaceId) -> Result<Vec<Hung>> {
    let pieces = pieces!(
        "l.grams > 0 AND l.place IN (WITH RECURSIVE room AS (SELECT $1::uuid AS id
             UNION SELECT q.id FROM place q JOIN room ON q.within = room.id) SELECT id FROM room)",
        place.0
    );
    Ok(pieces.fetch_all(db).await?)
}

/// One piece, in the shop or gone; `None` for a lot that is no piece of a batch.
pub async fn hung(db: &mut PgConnection, lot: LotId) -> Result<Option<Hung>> {
    Ok(pieces!("l.id = $1", lot.0).fetch_optional(db).await?)
}

/// The hook that a lot hangs on, where it has a name.
pub async fn hook(db: &mut PgConnection, lot: LotId) -> Result<Option<String>> {
    let hook = query_scalar!(
        "SELECT hook FROM hook WHERE lot = $1 AND struck_by IS NULL ORDER BY seq DESC LIMIT 1",
        lot.0
    )
    .fetch_optional(db)
    .await?;
    Ok(hook.filter(|hook| !hook.is_empty()))
}

/// One time that a piece was on the scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weighing {
    pub seq: Seq,
    pub grams: Grams,
    pub before: Grams,
    pub at: OffsetDateTime,
    pub struck: bool,
}

/// Every weigh-in of a lot, the struck ones too, the first one first.
pub async fn weigh_ins(db: &mut PgConnection, lot: LotId) -> Result<Vec<Weighing>> {
    let rows = query_as!(
        Weighing,
        r#"SELECT seq AS "seq: Seq", grams AS "grams: Grams", before AS "before: Grams", at,
                  struck_by IS NOT NULL AS "struck!"
           FROM weigh_in WHERE lot = $1 ORDER BY seq"#,
        lot.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot that lies in a place without being a piece of a batch.
pub struct Lies {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub form: Form,
    pub grams: Grams,
    pub held: Option<String>,
    pub place_name: String,
}

/// What else lies in a place and in what is inside it, the oldest first.
pub async fn lies(db: &mut PgConnection, place: PlaceId, limit: i64) -> Result<Vec<Lies>> {
    let rows = query_as!(
        Lies,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.form AS "form: Form",
                  l.grams AS "grams: Grams", q.name AS place_name,
                  (SELECT h.reason FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL
                   ORDER BY h.seq LIMIT 1) AS held
           FROM lot l JOIN place q ON q.id = l.place
           WHERE l.grams > 0
             AND l.place IN (WITH RECURSIVE room AS (SELECT $1::uuid AS id
                 UNION SELECT i.id FROM place i JOIN room ON i.within = room.id) SELECT id FROM room)
             AND NOT EXISTS (SELECT 1 FROM piece p WHERE p.lot = l.id AND p.struck_by IS NULL)
           ORDER BY l.code_day, l.code_number, l.code_piece LIMIT $2"#,
        place.0,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// The lots that carry these codes. Codes on no tag are left out.
pub async fn lots_with_codes(db: &mut PgConnection, codes: &[LotCode]) -> Result<Vec<(LotId, LotCode)>> {
    let codes: Vec<String> = codes.iter().map(ToString::to_string).collect();
    let rows =
        query!(r#"SELECT id AS "id: LotId", code AS "code: LotCode" FROM lot WHERE code = ANY($1)"#, &codes)
            .fetch_all(db)
            .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.code)).collect())
}
