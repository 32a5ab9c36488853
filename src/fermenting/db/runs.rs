//! Runs as the readings tell them: for any number of batches the same few queries.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_as};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use crate::book::Seq;
use crate::error::Result;
use crate::fermenting::entry::LONGEST_GAP;
use crate::fermenting::run::{PhRead, Run, Temp, Visit, end_of};
use crate::ids::{BatchId, LotId, Named, PlaceId};
use crate::measure::{LotCode, Ph};
use crate::recipes::{RecipeKind, Stage};
use crate::setup::entry::PlaceKind;

/// How far before and after a stay its place's readings are looked at: no gap that a shop can adopt is longer.
const AROUND: Duration = Duration::hours(LONGEST_GAP as i64);

struct Head {
    id: BatchId,
    code: LotCode,
    product_name: String,
    stage: Stage,
    kind: RecipeKind,
    stuffed: Option<Seq>,
    stuffed_at: Option<OffsetDateTime>,
}

/// One batch's run; none where there is no such batch or it is struck.
pub async fn run(db: &mut PgConnection, batch: BatchId, now: OffsetDateTime) -> Result<Option<Run>> {
    Ok(runs(db, &[batch], now).await?.pop())
}

/// The runs of these batches, in the order of their codes. Up to the end of the count, or to `now`.
pub async fn runs(db: &mut PgConnection, batches: &[BatchId], now: OffsetDateTime) -> Result<Vec<Run>> {
    let ids: Vec<Uuid> = batches.iter().map(|batch| batch.0).collect();
    let heads = query_as!(
        Head,
        r#"SELECT b.id AS "id: BatchId", b.code AS "code: LotCode", i.name AS product_name, b.stage AS "stage: Stage",
                  v.kind AS "kind: RecipeKind", s.seq AS "stuffed?: Seq", s.happened_at AS "stuffed_at?"
           FROM batch b JOIN item i ON i.id = b.product
                JOIN recipe_version v ON v.recipe = b.recipe AND v.version = b.version
                LEFT JOIN LATERAL (SELECT t.seq, e.happened_at FROM batch_stuffed t JOIN entry e ON e.seq = t.seq
                                   WHERE t.batch = b.id AND t.struck_by IS NULL
                                   ORDER BY e.happened_at, t.seq LIMIT 1) s ON true
           WHERE b.id = ANY($1) AND b.struck_by IS NULL ORDER BY b.code"#,
        &ids
    )
    .fetch_all(&mut *db)
    .await?;
    let mut phs = phs(db, &ids).await?;
    let mut all: Vec<Run> = heads
        .into_iter()
        .map(|head| {
            let stuffed = head.stuffed_at.zip(head.stuffed);
            let mut phs = phs.remove(&head.id).unwrap_or_default();
            phs.retain(|read| stuffed.is_some_and(|(at, _)| read.at >= at));
            Run {
                batch: head.id,
                code: head.code,
                product_name: head.product_name,
                stage: head.stage,
                ferments: head.kind == RecipeKind::GroundFermented,
                stuffed,
                until: end_of(&phs).map_or(now, |end| end.at),
                phs,
                ways: Vec::new(),
            }
        })
        .collect();
    let steps = steps(db, &ids).await?;
    for run in &mut all {
        let Some((from, _)) = run.stuffed else { continue };
        run.ways = ways(&steps, run.batch, from, run.until);
    }
    fill_temperatures(db, &mut all).await?;
    Ok(all)
}

async fn phs(db: &mut PgConnection, batches: &[Uuid]) -> Result<BTreeMap<BatchId, Vec<PhRead>>> {
    let rows = query!(
        r#"WITH of AS (
               SELECT p.batch, p.lot, l.code FROM piece p JOIN lot l ON l.id = p.lot
               WHERE p.batch = ANY($1) AND p.struck_by IS NULL
               UNION ALL SELECT b.id, b.mix, b.code FROM batch b WHERE b.id = ANY($1)
           ), read AS (
               SELECT of.batch AS of_batch, of.code, r.* FROM of JOIN reading r ON r.lot = of.lot
               UNION ALL
               SELECT b.id, b.code, r.* FROM batch b JOIN reading r ON r.batch = b.id WHERE b.id = ANY($1)
           )
           SELECT r.of_batch AS "of!: BatchId", r.code AS "code!", r.seq AS "seq!: Seq", r.value AS "value!",
                  r.at AS "at!", coalesce(i.name, '') AS "instrument!"
           FROM read r LEFT JOIN instrument i ON i.id = r.instrument
           WHERE r.quantity = 'ph' AND r.struck_by IS NULL ORDER BY r.at, r.seq"#,
        batches
    )
    .fetch_all(db)
    .await?;
    let mut all: BTreeMap<BatchId, Vec<PhRead>> = BTreeMap::new();
    for row in rows {
        let value = Ph::new(row.value).map_err(anyhow::Error::from)?;
        all.entry(row.of).or_default().push(PhRead {
            at: row.at,
            seq: row.seq,
            value,
            name: row.code,
            instrument: row.instrument,
        });
    }
    Ok(all)
}

/// A piece put into a place.
struct Put {
    batch: BatchId,
    lot: LotId,
    place: PlaceId,
    place_name: String,
    at: OffsetDateTime,
}

/// Where the pieces of these batches were put, piece by piece in the order of time.
async fn steps(db: &mut PgConnection, batches: &[Uuid]) -> Result<Vec<Put>> {
    let rows = query_as!(
        Put,
        r#"SELECT p.batch AS "batch: BatchId", p.lot AS "lot: LotId", u.place AS "place: PlaceId",
                  c.name AS place_name, e.happened_at AS at
           FROM piece p JOIN put u ON u.lot = p.lot JOIN entry e ON e.seq = u.seq JOIN place c ON c.id = u.place
           WHERE p.batch = ANY($1) AND p.struck_by IS NULL
             AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = u.seq)
           ORDER BY p.lot, e.happened_at, u.seq"#,
        batches
    );
    Ok(rows.fetch_all(db).await?)
}

/// The ways that the pieces of a batch went between two moments, each once.
fn ways(puts: &[Put], batch: BatchId, from: OffsetDateTime, until: OffsetDateTime) -> Vec<Vec<Visit>> {
    let mut all: Vec<Vec<Visit>> = Vec::new();
    for of_piece in puts.chunk_by(|a, b| a.lot == b.lot).filter(|of| of.iter().any(|put| put.batch == batch))
    {
        let mut way: Vec<Visit> = Vec::new();
        for put in of_piece.iter().filter(|put| put.at < until) {
            let at = put.at.max(from);
            if let Some(last) = way.last_mut() {
                if last.place.id == put.place {
                    continue;
                }
                last.to = at;
            }
            let place = Named::new(put.place, put.place_name.clone());
            way.push(Visit { place, from: at, to: until, temps: Vec::new() });
        }
        way.retain(|visit| visit.to > visit.from);
        if !way.is_empty() && !all.contains(&way) {
            all.push(way);
        }
    }
    all
}

/// A place with those around it, from the inside out.
struct Place {
    within: Option<PlaceId>,
    kind: PlaceKind,
}

/// The places whose readings tell of one: itself, and for a rail the chamber around it as well. Where nothing was read
/// there, the next place around, and so on.
fn circles(places: &BTreeMap<PlaceId, Place>, place: PlaceId) -> Vec<Vec<PlaceId>> {
    let mut all = Vec::new();
    let mut circle = Vec::new();
    let mut next = Some(place);
    // A place is never within itself, but a loop must not hang a page.
    for _ in 0..places.len() {
        let Some((id, known)) = next.and_then(|id| Some((id, places.get(&id)?))) else { break };
        circle.push(id);
        if known.kind != PlaceKind::Rail {
            all.push(std::mem::take(&mut circle));
        }
        next = known.within;
    }
    if !circle.is_empty() {
        all.push(circle);
    }
    all
}

async fn fill_temperatures(db: &mut PgConnection, runs: &mut [Run]) -> Result<()> {
    let visits = || runs.iter().flat_map(|run| run.ways.iter().flatten());
    let from = visits().map(|visit| visit.from).min();
    let to = visits().map(|visit| visit.to).max();
    let Some((from, to)) = from.zip(to) else { return Ok(()) };
    let places = query!(
        r#"SELECT id AS "id: PlaceId", within AS "within: PlaceId", kind AS "kind: PlaceKind" FROM place"#
    )
    .fetch_all(&mut *db)
    .await?;
    let places: BTreeMap<PlaceId, Place> =
        places.into_iter().map(|row| (row.id, Place { within: row.within, kind: row.kind })).collect();
    let mut asked: Vec<Uuid> =
        visits().flat_map(|visit| circles(&places, visit.place.id)).flatten().map(|place| place.0).collect();
    asked.sort_unstable();
    asked.dedup();
    let temps = temperatures(db, &asked, from - AROUND, to + AROUND).await?;
    for visit in runs.iter_mut().flat_map(|run| run.ways.iter_mut().flatten()) {
        for circle in circles(&places, visit.place.id) {
            let near = |temp: &&Temp| temp.at >= visit.from - AROUND && temp.at <= visit.to + AROUND;
            let read: Vec<Temp> = circle
                .iter()
                .filter_map(|place| temps.get(place))
                .flat_map(|temps| temps.iter().filter(near).cloned())
                .collect();
            if !read.is_empty() {
                visit.temps = read;
                visit.temps.sort_by_key(|temp| (temp.at, temp.seq));
                break;
            }
        }
    }
    Ok(())
}

/// Readings by hand and samples of loggers, by place, in the order of time. Samples of an import that was struck are left
/// out.
async fn temperatures(
    db: &mut PgConnection,
    places: &[Uuid],
    from: OffsetDateTime,
    to: OffsetDateTime,
) -> Result<BTreeMap<PlaceId, Vec<Temp>>> {
    let rows = query!(
        r#"SELECT r.place AS "place!: PlaceId", r.at AS "at!", r.value AS "value!", r.seq AS "seq?: Seq" FROM reading r
           WHERE r.place = ANY($1) AND r.quantity = 'temperature' AND r.struck_by IS NULL AND r.at BETWEEN $2 AND $3
           UNION ALL
           SELECT s.place, s.at, s.value, NULL FROM sample s
           WHERE s.place = ANY($1) AND s.quantity = 'temperature' AND s.at BETWEEN $2 AND $3
             AND s.import NOT IN (SELECT e.id FROM strike k JOIN entry e ON e.seq = k.seq)
           ORDER BY 2"#,
        places,
        from,
        to
    )
    .fetch_all(db)
    .await?;
    let mut all: BTreeMap<PlaceId, Vec<Temp>> = BTreeMap::new();
    for row in rows {
        let celsius: Decimal = row.value;
        let temp = Temp { at: row.at, celsius: celsius.normalize(), seq: row.seq, place: row.place };
        all.entry(row.place).or_default().push(temp);
    }
    Ok(all)
}
