//! What the checks of the plans concern, and when they were made.

use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::checks::Quantity;
use crate::deviations::Subject;
use crate::error::Result;
use crate::ids::{BatchId, Named, PlaceId, PlanId, PlannedCheckId};
use crate::plan::entry::Document;
use crate::recipes::Stage;
use crate::setup::entry::PlaceKind;

/// A place that is read, or a batch that is not yet released.
#[derive(Debug, Clone)]
pub struct Subjected {
    pub subject: Subject,
    pub kind: Option<PlaceKind>,
    /// Where a batch stands.
    pub stage: Option<Stage>,
    /// When a batch came into its stage; when a place was first written.
    pub since: OffsetDateTime,
    /// When a batch left that stage; `None` as long as it is in it.
    pub until: Option<OffsetDateTime>,
    /// The version that a batch was begun under.
    pub version: Option<(PlanId, u32)>,
    /// What it is, for a page: "cooler", "Juniper salami".
    pub what: String,
}

/// Every place in use, and every batch that is in a stage and not released; one alone, where it is named.
pub async fn subjects(db: &mut PgConnection, only: Option<Uuid>) -> Result<Vec<Subjected>> {
    let places = query!(
        r#"SELECT p.id AS "id: PlaceId", p.name, p.kind AS "kind: PlaceKind",
                  (SELECT e.happened_at FROM about a JOIN entry e ON e.seq = a.seq WHERE a.subject = p.id
                   ORDER BY a.seq LIMIT 1) AS "since!"
           FROM place p WHERE NOT p.retired AND ($1::uuid IS NULL OR p.id = $1) ORDER BY lower(p.name)"#,
        only
    )
    .fetch_all(&mut *db)
    .await?;
    let batches = query!(
        r#"SELECT b.id AS "id: BatchId", b.code, i.name, b.stage AS "stage: Stage", b.stage_at,
                  v.plan AS "plan?: PlanId", v.version AS "version?"
           FROM batch b JOIN item i ON i.id = b.product
           LEFT JOIN plan_version v ON v.seq = plan_of_batch(b.id)
           WHERE b.struck_by IS NULL AND b.stage <> 'released' AND ($1::uuid IS NULL OR b.id = $1)
           ORDER BY b.code"#,
        only
    )
    .fetch_all(db)
    .await?;
    let places = places.into_iter().map(|row| Subjected {
        subject: Subject::Place(Named::new(row.id, row.name)),
        kind: Some(row.kind),
        stage: None,
        since: row.since,
        until: None,
        version: None,
        what: row.kind.word().to_owned(),
    });
    let batches = batches.into_iter().map(|row| Subjected {
        subject: Subject::Batch(Named::new(row.id, row.code)),
        kind: None,
        stage: Some(row.stage),
        since: row.stage_at,
        until: None,
        version: row.plan.zip(row.version.and_then(|version| u32::try_from(version).ok())),
        what: row.name,
    });
    Ok(places.chain(batches).collect())
}

/// The stages that batches have left since a moment, of one batch alone, where it is named. A batch that moves to another place in
/// the same stage has not left it.
pub async fn left(
    db: &mut PgConnection,
    since: OffsetDateTime,
    only: Option<Uuid>,
) -> Result<Vec<Subjected>> {
    let rows = query!(
        r#"WITH turn AS (
               SELECT s.batch, s.stage, s.at, s.seq,
                      s.stage IS DISTINCT FROM lag(s.stage) OVER (PARTITION BY s.batch ORDER BY s.seq) AS new
               FROM batch_stage s WHERE s.struck_by IS NULL AND ($2::uuid IS NULL OR s.batch = $2)
           ), stay AS (
               SELECT batch, stage, at, lead(at) OVER (PARTITION BY batch ORDER BY seq) AS until FROM turn WHERE new
           )
           SELECT b.id AS "id: BatchId", b.code, i.name, s.stage AS "stage: Stage", s.at, s.until AS "until!",
                  v.plan AS "plan?: PlanId", v.version AS "version?"
           FROM stay s JOIN batch b ON b.id = s.batch JOIN item i ON i.id = b.product
           LEFT JOIN plan_version v ON v.seq = plan_of_batch(b.id)
           WHERE s.until >= $1 AND b.struck_by IS NULL ORDER BY b.code, s.at"#,
        since,
        only
    )
    .fetch_all(db)
    .await?;
    let stays = rows.into_iter().map(|row| Subjected {
        subject: Subject::Batch(Named::new(row.id, row.code)),
        kind: None,
        stage: Some(row.stage),
        since: row.at,
        until: Some(row.until),
        version: row.plan.zip(row.version.and_then(|version| u32::try_from(version).ok())),
        what: row.name,
    });
    Ok(stays.collect())
}

/// A signed version with when each of its checks was first asked for.
#[derive(Debug, Clone)]
pub struct Asked {
    pub plan: PlanId,
    pub version: u32,
    /// Whether it is the one that stands.
    pub stands: bool,
    pub document: Document,
    pub since: Vec<(PlannedCheckId, OffsetDateTime)>,
}

/// The versions that stand, and those that these batches were begun under.
pub async fn asked(db: &mut PgConnection, plans: &[(PlanId, u32)]) -> Result<Vec<Asked>> {
    let ids: Vec<Uuid> = plans.iter().map(|(plan, _)| plan.0).collect();
    let versions: Vec<i32> = plans
        .iter()
        .map(|(_, version)| i32::try_from(*version))
        .collect::<Result<_, _>>()
        .map_err(anyhow::Error::from)?;
    let rows = query!(
        r#"SELECT v.plan AS "plan: PlanId", v.version, v.version = p.version AS "stands!", v.document,
                  ARRAY(SELECT c.id FROM planned_check c WHERE c.plan = v.plan ORDER BY c.id)
                      AS "checks!: Vec<PlannedCheckId>",
                  ARRAY(SELECT c.since_at FROM planned_check c WHERE c.plan = v.plan ORDER BY c.id)
                      AS "since!: Vec<OffsetDateTime>"
           FROM plan_version v JOIN plan p ON p.id = v.plan
           WHERE v.version = p.version
              OR (v.plan, v.version) IN (SELECT u.plan, u.version FROM unnest($1::uuid[], $2::int[]) AS u(plan, version))
           ORDER BY p.sort, lower(p.name), v.version"#,
        &ids,
        &versions
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            Ok(Asked {
                plan: row.plan,
                version: u32::try_from(row.version).map_err(anyhow::Error::from)?,
                stands: row.stands,
                document: serde_json::from_str(&row.document).map_err(anyhow::Error::from)?,
                since: row.checks.into_iter().zip(row.since).collect(),
            })
        })
        .collect()
}

/// When checks were made, and until when what was missed is written.
#[derive(Debug, Clone, Default)]
pub struct Made {
    /// Readings, in the order of their times; of a piece or a mix they count for its batch.
    pub read: Vec<(Uuid, Quantity, OffsetDateTime)>,
    pub answered: Vec<(PlannedCheckId, Uuid, OffsetDateTime)>,
    pub noted: Vec<(PlannedCheckId, Uuid, OffsetDateTime)>,
}

struct Read {
    subject: Uuid,
    quantity: Quantity,
    at: OffsetDateTime,
}

struct Answer {
    planned: PlannedCheckId,
    subject: Uuid,
    at: OffsetDateTime,
}

/// What was made since a moment; of one subject only, where one is named.
pub async fn made(db: &mut PgConnection, since: OffsetDateTime, only: Option<Uuid>) -> Result<Made> {
    let read = query_as!(
        Read,
        r#"SELECT s.subject AS "subject!", s.quantity AS "quantity!: Quantity", s.at AS "at!"
           FROM (SELECT coalesce(r.place, r.batch, p.batch, m.id) AS subject, r.quantity, r.at
                 FROM reading r LEFT JOIN piece p ON p.lot = r.lot LEFT JOIN batch m ON m.mix = r.lot
                 WHERE r.struck_by IS NULL AND r.at >= $1) s
           WHERE s.subject IS NOT NULL AND ($2::uuid IS NULL OR s.subject = $2) ORDER BY s.at"#,
        since,
        only
    )
    .fetch_all(&mut *db)
    .await?;
    let answered = query_as!(
        Answer,
        r#"SELECT a.planned AS "planned: PlannedCheckId", a.subject, a.at FROM check_answer a
           WHERE a.struck_by IS NULL AND a.at >= $1 AND ($2::uuid IS NULL OR a.subject = $2) ORDER BY a.at"#,
        since,
        only
    )
    .fetch_all(&mut *db)
    .await?;
    let noted = query_as!(
        Answer,
        r#"SELECT m.planned AS "planned: PlannedCheckId", m.subject, max(m.until_at) AS "at!" FROM check_missed m
           WHERE $1::uuid IS NULL OR m.subject = $1 GROUP BY m.planned, m.subject"#,
        only
    )
    .fetch_all(db)
    .await?;
    let pair = |row: Answer| (row.planned, row.subject, row.at);
    Ok(Made {
        read: read.into_iter().map(|row| (row.subject, row.quantity, row.at)).collect(),
        answered: answered.into_iter().map(pair).collect(),
        noted: noted.into_iter().map(pair).collect(),
    })
}

/// The hours in which meat was moved in the book since a moment, in order: by them a day is a day with work.
pub async fn work_days(db: &mut PgConnection, since: OffsetDateTime) -> Result<Vec<OffsetDateTime>> {
    let hours = sqlx::query_scalar!(
        r#"SELECT DISTINCT date_trunc('hour', e.happened_at) AS "hour!" FROM entry e
           WHERE e.happened_at >= $1 AND EXISTS (SELECT 1 FROM movement m WHERE m.seq = e.seq) ORDER BY 1"#,
        since
    );
    Ok(hours.fetch_all(db).await?)
}
