//! Reads for the pages of plans.

use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;

use crate::book::Seq;
use crate::error::Result;
use crate::ids::{BatchId, PlanId, PlannedCheckId};
use crate::plan::entry::Document;
use crate::recipes::RecipeKind;

fn document(text: &str) -> Result<Document> {
    Ok(serde_json::from_str(text).map_err(anyhow::Error::from)?)
}

/// A plan as it stands.
#[derive(Debug, Clone)]
pub struct Listed {
    pub id: PlanId,
    /// The latest draft, or the signed version where there is none since.
    pub document: Document,
    pub shipped: String,
    /// The version that stands, 0 where none was signed.
    pub version: u32,
    pub draft: bool,
    /// When the version that stands was signed.
    pub signed_at: Option<OffsetDateTime>,
    /// When it was last signed or reassessed.
    pub assessed_at: Option<OffsetDateTime>,
    /// The line of the book since which changes ask for a reassessment.
    pub since: Option<Seq>,
}

struct ListedRow {
    id: PlanId,
    document: String,
    shipped: String,
    version: i32,
    draft: bool,
    signed_at: Option<OffsetDateTime>,
    assessed_at: Option<OffsetDateTime>,
    since: Option<Seq>,
}

impl ListedRow {
    fn read(self) -> Result<Listed> {
        Ok(Listed {
            id: self.id,
            document: document(&self.document)?,
            shipped: self.shipped,
            version: u32::try_from(self.version).map_err(anyhow::Error::from)?,
            draft: self.draft,
            signed_at: self.signed_at,
            assessed_at: self.assessed_at,
            since: self.since,
        })
    }
}

/// `query_as!` takes its text literally, so the columns stand here once.
macro_rules! listed {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            ListedRow,
            r#"SELECT p.id AS "id: PlanId", p.document, p.shipped, p.version, p.draft, v.signed_at AS "signed_at?",
                      greatest(v.signed_at, r.at) AS assessed_at, greatest(v.seq, r.seq) AS "since: Seq"
               FROM plan p LEFT JOIN plan_version v ON v.plan = p.id AND v.version = p.version
               LEFT JOIN LATERAL (SELECT a.at, a.seq FROM plan_reassessment a WHERE a.plan = p.id
                                  ORDER BY a.seq DESC LIMIT 1) r ON true "# + $tail
            $(, $arg)*
        )
    };
}

/// Every plan and programme, the plans first, by name.
pub async fn list(db: &mut PgConnection) -> Result<Vec<Listed>> {
    let rows = listed!("ORDER BY p.sort, lower(p.name)").fetch_all(db).await?;
    rows.into_iter().map(ListedRow::read).collect()
}

/// One plan.
pub async fn one(db: &mut PgConnection, id: PlanId) -> Result<Option<Listed>> {
    listed!("WHERE p.id = $1", id.0).fetch_optional(db).await?.map(ListedRow::read).transpose()
}

/// A signed version.
#[derive(Debug, Clone)]
pub struct Version {
    pub plan: PlanId,
    pub version: u32,
    pub document: Document,
    pub reason: String,
    pub signed_at: OffsetDateTime,
    pub signed_by: String,
    pub seq: Seq,
}

struct VersionRow {
    plan: PlanId,
    version: i32,
    document: String,
    reason: String,
    signed_at: OffsetDateTime,
    signed_by: String,
    seq: Seq,
}

impl VersionRow {
    fn read(self) -> Result<Version> {
        Ok(Version {
            plan: self.plan,
            version: u32::try_from(self.version).map_err(anyhow::Error::from)?,
            document: document(&self.document)?,
            reason: self.reason,
            signed_at: self.signed_at,
            signed_by: self.signed_by,
            seq: self.seq,
        })
    }
}

/// The same for signed versions.
macro_rules! signed {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            VersionRow,
            r#"SELECT v.plan AS "plan: PlanId", v.version, v.document, v.reason, v.signed_at,
                      coalesce(w.initials, '') AS "signed_by!", v.seq AS "seq: Seq"
               FROM plan_version v LEFT JOIN signer w ON w.id = v.signed_by "# + $tail
            $(, $arg)*
        )
    };
}

/// The versions of a plan, the latest first.
pub async fn versions(db: &mut PgConnection, plan: PlanId) -> Result<Vec<Version>> {
    let rows = signed!("WHERE v.plan = $1 ORDER BY v.version DESC", plan.0).fetch_all(db).await?;
    rows.into_iter().map(VersionRow::read).collect()
}

/// The version of every plan and programme that stands.
pub async fn standing(db: &mut PgConnection) -> Result<Vec<Version>> {
    let rows =
        signed!("JOIN plan p ON p.id = v.plan AND p.version = v.version ORDER BY p.sort, lower(p.name)");
    rows.fetch_all(db).await?.into_iter().map(VersionRow::read).collect()
}

/// The version that a batch was begun under: the latest that covered its kind of recipe then.
pub async fn of_batch(db: &mut PgConnection, batch: BatchId) -> Result<Option<Version>> {
    let row = signed!("WHERE v.seq = plan_of_batch($1)", batch.0).fetch_optional(db).await?;
    row.map(VersionRow::read).transpose()
}

/// The kinds of recipe that the standing versions of other plans cover.
pub async fn covered(db: &mut PgConnection, but: PlanId) -> Result<Vec<(RecipeKind, String)>> {
    let rows = query!(
        r#"SELECT u.kind AS "kind!: RecipeKind", p.name FROM plan p
           JOIN plan_version v ON v.plan = p.id AND v.version = p.version CROSS JOIN unnest(v.covers) AS u(kind)
           WHERE p.id <> $1 AND p.sort = 'plan'"#,
        but.0
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.kind, row.name)).collect())
}

/// A version looked over and left as it was.
#[derive(Debug, Clone)]
pub struct Reassessed {
    pub version: u32,
    pub at: OffsetDateTime,
    pub reason: String,
    pub by: String,
    pub seq: Seq,
}

/// The reassessments of a plan, the latest first.
pub async fn reassessments(db: &mut PgConnection, plan: PlanId) -> Result<Vec<Reassessed>> {
    let rows = query!(
        r#"SELECT a.version, a.at, a.reason, coalesce(w.initials, '') AS "by!", a.seq AS "seq: Seq"
           FROM plan_reassessment a JOIN entry e ON e.seq = a.seq LEFT JOIN signer w ON w.id = e.person
           WHERE a.plan = $1 ORDER BY a.seq DESC"#,
        plan.0
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let version = u32::try_from(row.version).map_err(anyhow::Error::from)?;
            Ok(Reassessed { version, at: row.at, reason: row.reason, by: row.by, seq: row.seq })
        })
        .collect()
}

/// A line of the book that asks for a reassessment.
#[derive(Debug, Clone)]
pub struct Change {
    pub seq: Seq,
    pub at: OffsetDateTime,
    /// The kind of the line.
    pub kind: String,
    /// The kind of recipe, where it is a version of a recipe.
    pub recipe: Option<RecipeKind>,
    pub name: String,
}

/// Versions of recipes and limits written after a line of the book: what a plan rests on has changed.
pub async fn changes_since(db: &mut PgConnection, since: Seq) -> Result<Vec<Change>> {
    let rows = query_as!(
        Change,
        r#"SELECT v.seq AS "seq!: Seq", e.happened_at AS "at!", e.kind AS "kind!", v.kind AS "recipe: RecipeKind",
                  r.name AS "name!"
           FROM recipe_version v JOIN recipe r ON r.id = v.recipe JOIN entry e ON e.seq = v.seq WHERE v.seq > $1
           UNION ALL
           SELECT c.seq, e.happened_at, e.kind, NULL, c.name FROM check_limit c JOIN entry e ON e.seq = c.seq
           WHERE c.seq > $1 AND c.name NOT LIKE '%, by the plan %'
           ORDER BY 1"#,
        since as Seq
    );
    Ok(rows.fetch_all(db).await?)
}

/// Somebody watched how a check is made.
#[derive(Debug, Clone)]
pub struct Observed {
    pub planned: PlannedCheckId,
    pub at: OffsetDateTime,
    pub who: String,
    pub in_order: bool,
    pub words: String,
    pub by: String,
    pub seq: Seq,
}

/// Who watched the checks of a document, the latest first.
pub async fn observations(db: &mut PgConnection, checks: &[PlannedCheckId]) -> Result<Vec<Observed>> {
    let ids: Vec<uuid::Uuid> = checks.iter().map(|check| check.0).collect();
    let rows = query_as!(
        Observed,
        r#"SELECT o.planned AS "planned: PlannedCheckId", o.at, coalesce(p.initials, '') AS "who!", o.in_order,
                  o.words, coalesce(w.initials, '') AS "by!", o.seq AS "seq: Seq"
           FROM monitoring_observation o JOIN entry e ON e.seq = o.seq
           LEFT JOIN signer w ON w.id = e.person LEFT JOIN signer p ON p.id = o.who
           WHERE o.planned = ANY($1) ORDER BY o.seq DESC LIMIT 50"#,
        &ids
    );
    Ok(rows.fetch_all(db).await?)
}
