//! SQL of cold: where lots lay, what was measured there, the limits of those places, and what was too warm.

mod exceeded;

use std::collections::BTreeSet;

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_as};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use crate::book::{Form, Seq};
use crate::cold::LONGEST_GAP;
use crate::error::Result;
use crate::ids::{BatchId, LotId, PlaceId};
use crate::measure::{Celsius, LotCode};
use crate::recipes::Stage;
use crate::setup::entry::PlaceKind;
use crate::standards::cold::{Log, Sample};

pub use exceeded::{Warmed, batch_named, touched, warmed};

/// A stay in a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stay {
    pub place: PlaceId,
    pub from: OffsetDateTime,
    /// `None` as long as it lasts: then up to the last reading.
    pub to: Option<OffsetDateTime>,
}

/// What was measured in the place of a stay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measured {
    /// Up to the last reading where the stay lasts.
    pub log: Log,
    /// The entries of the readings, and those that seal the samples.
    pub by: Vec<Seq>,
}

struct Read {
    stay: i64,
    at: OffsetDateTime,
    value: Decimal,
    seq: Option<Seq>,
}

/// What was measured in each of these stays, in their order: one query. A rail is as warm as the chamber that it is in.
pub async fn measured(db: &mut PgConnection, stays: &[Stay]) -> Result<Vec<Measured>> {
    let places: Vec<Uuid> = stays.iter().map(|stay| stay.place.0).collect();
    let from: Vec<OffsetDateTime> = stays.iter().map(|stay| stay.from).collect();
    let to: Vec<Option<OffsetDateTime>> = stays.iter().map(|stay| stay.to).collect();
    let rows = query_as!(
        Read,
        r#"WITH stay AS (
               SELECT s.n, s.place, s.begun, s.ended, p.within
               FROM unnest($1::uuid[], $2::timestamptz[], $3::timestamptz[]) WITH ORDINALITY AS s(place, begun, ended, n)
               JOIN place p ON p.id = s.place)
           SELECT s.n AS "stay!", r.at AS "at!", r.value AS "value!", r.seq AS "seq: Seq"
           FROM stay s JOIN reading r ON r.place IN (s.place, s.within)
           WHERE r.quantity = 'temperature' AND r.struck_by IS NULL AND r.at >= s.begun AND r.at <= coalesce(s.ended, r.at)
           UNION ALL
           SELECT s.n, m.at, m.value, e.seq
           FROM stay s JOIN sample_standing m ON m.place IN (s.place, s.within) LEFT JOIN entry e ON e.id = m.import
           WHERE m.quantity = 'temperature' AND m.at >= s.begun AND m.at <= coalesce(s.ended, m.at)
           ORDER BY 1, 2, 4"#,
        &places,
        &from,
        &to as &[Option<OffsetDateTime>]
    )
    .fetch_all(&mut *db)
    .await?;
    let gaps = gaps(db, &places).await?;
    let mut found = Vec::with_capacity(stays.len());
    for (n, stay) in (1..).zip(stays) {
        let own = rows.iter().filter(|row| row.stay == n);
        let by: BTreeSet<Seq> = own.clone().filter_map(|row| row.seq).collect();
        let mut samples = Vec::new();
        for row in own {
            let value = Celsius::new(row.value).map_err(anyhow::Error::from)?;
            samples.push(Sample { at: row.at, value });
        }
        let last = samples.last().map_or(stay.from, |last| last.at);
        let gap =
            gaps.iter().find(|(place, _)| *place == stay.place.0).map_or(LONGEST_GAP, |(_, hours)| *hours);
        let log = Log::new(stay.from, stay.to.unwrap_or(last), samples, Duration::hours(gap.into()));
        found.push(Measured { log, by: by.into_iter().collect() });
    }
    Ok(found)
}

/// The longest time without a reading of each place that is no gap: half as long again as the hours between readings that
/// the shop has set for it, or for the place that it is in.
async fn gaps(db: &mut PgConnection, places: &[Uuid]) -> Result<Vec<(Uuid, i16)>> {
    let rows = query!(
        r#"SELECT p.id AS "id!", coalesce(p.read_every, w.read_every) AS hours
           FROM place p LEFT JOIN place w ON w.id = p.within WHERE p.id = ANY($1)"#,
        places
    )
    .fetch_all(db)
    .await?;
    // Nobody reads to the minute: half the interval more is still a reading in its turn.
    let longest = |hours: i16| hours + hours / 2;
    Ok(rows.into_iter().map(|row| (row.id, row.hours.map_or(LONGEST_GAP, longest))).collect())
}

/// A limit of temperature that is in force for a place, with the strictest of its ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlaceLimit {
    pub place: PlaceId,
    pub least: Option<Celsius>,
    pub most: Option<Celsius>,
    /// The names of the limits that it is made of.
    pub names: String,
    pub sources: String,
}

/// The limits in force for these places: their own, those of their kind, and those that hold for a batch in a stage, where one is
/// given.
pub async fn limits(
    db: &mut PgConnection,
    places: &[PlaceId],
    curing: Option<(BatchId, Stage)>,
) -> Result<Vec<PlaceLimit>> {
    let places: Vec<Uuid> = places.iter().map(|place| place.0).collect();
    let rows = query_as!(
        PlaceLimit,
        r#"SELECT p.id AS "place: PlaceId", max(c.least) AS "least: Celsius", min(c.most) AS "most: Celsius",
                  string_agg(c.name, ', ' ORDER BY c.name) AS "names!",
                  string_agg(c.source, ' ' ORDER BY c.name) AS "sources!"
           FROM place p LEFT JOIN place w ON w.id = p.within
           JOIN check_limit c ON NOT c.retired AND c.quantity = 'temperature'
                AND (c.place IN (p.id, w.id) OR (c.applies = 'kind' AND c.word IN (p.kind, w.kind))
                     OR (c.applies = 'stage' AND c.word = $2 AND (c.under IS NULL OR c.under = plan_of_batch($3))
                         AND (c.only_kinds = '{}' OR EXISTS (SELECT 1 FROM batch b JOIN recipe_version y
                              ON y.recipe = b.recipe AND y.version = b.version WHERE b.id = $3 AND y.kind = ANY(c.only_kinds)))))
           WHERE p.id = ANY($1) GROUP BY p.id"#,
        &places,
        curing.map(|(_, stage)| stage.word()),
        curing.map(|(batch, _)| batch.0)
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot, or one that it came from, in a place.
#[derive(Debug, Clone)]
pub struct Lay {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub place: PlaceId,
    pub place_name: String,
    pub kind: PlaceKind,
    pub from: OffsetDateTime,
    /// When it was moved on, or became the next lot; `None` as long as it lies there.
    pub to: Option<OffsetDateTime>,
}

/// Where a lot and all the meat that it came from lay, the first first: one walk backward over the movements. A lot lies
/// where it was put until it is put elsewhere, until the lot that came from it was made, or until nothing is left of it.
pub async fn lays(db: &mut PgConnection, lot: LotId) -> Result<Vec<Lay>> {
    let rows = query_as!(
        Lay,
        r#"WITH RECURSIVE line (lot, until) AS (
               SELECT l.id, (SELECT max(e.happened_at) FROM movement m JOIN entry e ON e.seq = m.seq
                             WHERE m.lot = l.id AND m.grams < 0 AND l.grams = 0)
               FROM lot l WHERE l.id = $1
               UNION
               SELECT o.lot, e.happened_at
               FROM line
               JOIN movement i ON i.lot = line.lot AND i.grams > 0
               JOIN movement o ON o.seq = i.seq AND o.grams < 0 AND o.lot IS NOT NULL
               JOIN lot f ON f.id = o.lot AND f.form NOT IN ('ingredient', 'casing')
               JOIN entry e ON e.seq = i.seq
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = i.seq OR s.by_seq = i.seq)
           ), one AS (SELECT lot, max(until) AS until FROM line GROUP BY lot),
           stays AS (
               SELECT o.lot, o.until, p.place, p.seq, e.happened_at AS begun,
                      lead(e.happened_at) OVER (PARTITION BY o.lot ORDER BY e.happened_at, p.seq) AS next
               FROM one o JOIN put p ON p.lot = o.lot JOIN entry e ON e.seq = p.seq
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = p.seq))
           SELECT s.lot AS "lot!: LotId", l.code AS "code!: LotCode", l.item_name AS "item_name!",
                  s.place AS "place!: PlaceId", p.name AS "place_name!", p.kind AS "kind!: PlaceKind",
                  s.begun AS "from!", least(s.next, s.until) AS "to"
           FROM stays s JOIN lot l ON l.id = s.lot JOIN place p ON p.id = s.place
           WHERE s.until IS NULL OR s.begun < s.until
           ORDER BY s.begun, s.seq"#,
        lot.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot as the page of its cold names it.
pub struct Named {
    pub code: LotCode,
    pub item_name: String,
    pub form: Form,
}

pub async fn named(db: &mut PgConnection, lot: LotId) -> Result<Option<Named>> {
    let row = query_as!(
        Named,
        r#"SELECT code AS "code: LotCode", item_name, form AS "form: Form" FROM lot
           WHERE id = $1 AND struck_by IS NULL"#,
        lot.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// A receiving temperature of the lot or of one that it came from.
pub struct AtTheDoor {
    pub code: LotCode,
    pub temperature: Option<Celsius>,
    pub frozen: bool,
    pub at: OffsetDateTime,
}

pub async fn at_the_door(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<AtTheDoor>> {
    let lots: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        AtTheDoor,
        r#"SELECT l.code AS "code: LotCode", r.temperature AS "temperature: Celsius", r.frozen, d.happened_at AS at
           FROM received r JOIN lot l ON l.id = r.lot JOIN delivery d ON d.id = r.delivery
           WHERE r.lot = ANY($1) AND r.struck_by IS NULL ORDER BY d.happened_at"#,
        &lots
    );
    Ok(rows.fetch_all(db).await?)
}

/// A curing of a batch: from its stage to the one after.
pub struct Curing {
    pub seq: Seq,
    pub from: OffsetDateTime,
    pub to: Option<OffsetDateTime>,
    /// The entry that ended it.
    pub ended: Option<Seq>,
    pub place: Option<PlaceId>,
    pub place_name: Option<String>,
}

pub async fn curings(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Curing>> {
    let rows = query_as!(
        Curing,
        r#"SELECT c.seq AS "seq!: Seq", c.at AS "from!", c.next AS "to", c.next_seq AS "ended: Seq",
                  c.place AS "place: PlaceId", p.name AS "place_name?"
           FROM (SELECT s.seq, s.stage, s.at, s.place, lead(s.at) OVER stages AS next, lead(s.seq) OVER stages AS next_seq
                 FROM batch_stage s WHERE s.batch = $1 AND s.struck_by IS NULL WINDOW stages AS (ORDER BY s.at, s.seq)) c
           LEFT JOIN place p ON p.id = c.place
           WHERE c.stage = 'curing' ORDER BY c.seq"#,
        batch.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// Hours of curing that the batch's recipe plans, all together; `None` where there is no such batch.
pub async fn planned_hours(db: &mut PgConnection, batch: BatchId) -> Result<Option<i64>> {
    let row = query!(
        r#"SELECT (SELECT coalesce(sum(s.hours), 0) FROM recipe_step s WHERE s.recipe = b.recipe AND s.version = b.version
                   AND s.stage = 'curing') AS "hours!" FROM batch b WHERE b.id = $1 AND b.struck_by IS NULL"#,
        batch.0
    );
    Ok(row.fetch_optional(db).await?.map(|row| row.hours))
}
