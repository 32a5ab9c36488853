//! Deviations: which are open, how one stands, which lots it concerns.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::{Form, Seq};
use crate::deviations::entry::{Decision, Part, Parts, Standing};
use crate::error::Result;
use crate::ids::{DeviationId, LotId};
use crate::measure::{Grams, LotCode};

/// A deviation that is open, and which of the lots that were asked for it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenDeviation {
    pub id: DeviationId,
    pub what: String,
    pub opened_at: OffsetDateTime,
    pub lots: Vec<LotId>,
}

/// The open deviations that concern any of these lots, the oldest first.
pub async fn open_deviations(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<OpenDeviation>> {
    let ids: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        OpenDeviation,
        r#"SELECT d.id AS "id: DeviationId", d.what, d.opened_at, array_agg(n.lot ORDER BY n.lot) AS "lots!: Vec<LotId>"
           FROM deviation d JOIN deviation_lot n ON n.deviation = d.id
           WHERE d.closed_by IS NULL AND d.struck_by IS NULL AND n.lot = ANY($1)
           GROUP BY d.id ORDER BY d.opened_at, d.seq"#,
        &ids
    );
    Ok(rows.fetch_all(db).await?)
}

/// Every open deviation with all of its lots, the oldest first.
pub async fn all_open_deviations(db: &mut PgConnection) -> Result<Vec<OpenDeviation>> {
    let rows = query_as!(
        OpenDeviation,
        r#"SELECT d.id AS "id: DeviationId", d.what, d.opened_at,
                  ARRAY(SELECT n.lot FROM deviation_lot n WHERE n.deviation = d.id ORDER BY n.lot)
                      AS "lots!: Vec<LotId>"
           FROM deviation d WHERE d.closed_by IS NULL AND d.struck_by IS NULL ORDER BY d.opened_at, d.seq"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// A deviation as it is listed.
#[derive(Debug, Clone)]
pub struct Listed {
    pub id: DeviationId,
    pub what: String,
    pub opened_at: OffsetDateTime,
    pub lots: i64,
    /// Which of the four parts are written.
    pub parts: Parts,
    pub closed: bool,
    pub struck: bool,
    pub unforeseen: bool,
    pub seq: Seq,
}

struct Row {
    id: DeviationId,
    what: String,
    opened_at: OffsetDateTime,
    lots: i64,
    closed: bool,
    struck: bool,
    unforeseen: bool,
    seq: Seq,
    cause: String,
    control: String,
    prevent: String,
    product: String,
}

impl From<Row> for Listed {
    fn from(row: Row) -> Self {
        let Row {
            id,
            what,
            opened_at,
            lots,
            closed,
            struck,
            unforeseen,
            seq,
            cause,
            control,
            prevent,
            product,
        } = row;
        Self {
            id,
            what,
            opened_at,
            lots,
            parts: Parts { cause, control, prevent, product },
            closed,
            struck,
            unforeseen,
            seq,
        }
    }
}

/// `query_as!` takes its text literally, so the columns stand here once. Of each part, the latest words count.
macro_rules! rows {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            Row,
            r#"SELECT d.id AS "id: DeviationId", d.what, d.opened_at, d.closed_by IS NOT NULL AS "closed!",
                      d.struck_by IS NOT NULL AS "struck!", d.unforeseen, d.seq AS "seq: Seq",
                      (SELECT count(*) FROM deviation_lot n WHERE n.deviation = d.id) AS "lots!",
                      coalesce((SELECT a.cause FROM deviation_action a WHERE a.deviation = d.id AND a.cause <> ''
                                AND a.struck_by IS NULL ORDER BY a.seq DESC LIMIT 1), '') AS "cause!",
                      coalesce((SELECT a.control FROM deviation_action a WHERE a.deviation = d.id AND a.control <> ''
                                AND a.struck_by IS NULL ORDER BY a.seq DESC LIMIT 1), '') AS "control!",
                      coalesce((SELECT a.prevent FROM deviation_action a WHERE a.deviation = d.id AND a.prevent <> ''
                                AND a.struck_by IS NULL ORDER BY a.seq DESC LIMIT 1), '') AS "prevent!",
                      coalesce((SELECT a.product FROM deviation_action a WHERE a.deviation = d.id AND a.product <> ''
                                AND a.struck_by IS NULL ORDER BY a.seq DESC LIMIT 1), '') AS "product!"
               FROM deviation d "# + $tail
            $(, $arg)*
        )
    };
}

/// A leaf of the list: the open ones first, then the latest.
pub async fn listed(db: &mut PgConnection, skip: i64, limit: i64) -> Result<Vec<Listed>> {
    let rows = rows!(
        "ORDER BY d.closed_by IS NULL AND d.struck_by IS NULL DESC, d.opened_at DESC, d.seq DESC OFFSET $1 LIMIT $2",
        skip,
        limit
    );
    Ok(rows.fetch_all(db).await?.into_iter().map(Listed::from).collect())
}

/// One deviation.
pub async fn deviation(db: &mut PgConnection, id: DeviationId) -> Result<Option<Listed>> {
    Ok(rows!("WHERE d.id = $1", id.0).fetch_optional(db).await?.map(Listed::from))
}

/// How a deviation stands, for the rules.
pub async fn standing(db: &mut PgConnection, deviation: &Listed) -> Result<Standing> {
    let lots = query_scalar!(
        r#"SELECT lot AS "lot: LotId" FROM deviation_lot WHERE deviation = $1 ORDER BY lot"#,
        deviation.id.0
    )
    .fetch_all(db)
    .await?;
    Ok(Standing {
        closed: deviation.closed,
        struck: deviation.struck,
        unforeseen: deviation.unforeseen,
        parts: deviation.parts.clone(),
        lots,
    })
}

/// A lot that a deviation concerns.
#[derive(Debug, Clone)]
pub struct Concerned {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub form: Form,
    pub grams: Grams,
    pub place: Option<String>,
    pub decision: Option<Decision>,
    /// Whether anything holds it now.
    pub held: bool,
}

/// The lots of a deviation, in the order of their codes.
pub async fn concerned(db: &mut PgConnection, id: DeviationId) -> Result<Vec<Concerned>> {
    let rows = query_as!(
        Concerned,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.form AS "form: Form",
                  l.grams AS "grams: Grams", p.name AS "place?", n.decision AS "decision: Decision",
                  EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL) AS "held!"
           FROM deviation_lot n JOIN lot l ON l.id = n.lot LEFT JOIN place p ON p.id = l.place
           WHERE n.deviation = $1 ORDER BY l.code_day, l.code_number, l.code_piece"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// Who wrote the latest words of a part, and when.
#[derive(Debug, Clone)]
pub struct Action {
    pub part: Part,
    pub words: String,
    pub at: OffsetDateTime,
    pub initials: String,
}

impl Action {
    /// What is written of each part, in their order; parts that nothing is written of are left out.
    pub async fn of(db: &mut PgConnection, id: DeviationId) -> Result<Vec<Self>> {
        let rows = query!(
            r#"SELECT a.cause, a.control, a.prevent, a.product, e.happened_at, coalesce(w.initials, '') AS "initials!"
               FROM deviation_action a JOIN entry e ON e.seq = a.seq LEFT JOIN signer w ON w.id = e.person
               WHERE a.deviation = $1 AND a.struck_by IS NULL ORDER BY a.seq DESC"#,
            id.0
        )
        .fetch_all(db)
        .await?;
        let latest = |part: Part| {
            rows.iter().find_map(|row| {
                let words = match part {
                    Part::Cause => &row.cause,
                    Part::Control => &row.control,
                    Part::Prevent => &row.prevent,
                    Part::Product => &row.product,
                };
                let (at, initials) = (row.happened_at, row.initials.clone());
                (!words.is_empty()).then(|| Self { part, words: words.clone(), at, initials })
            })
        };
        Ok(Part::ALL.into_iter().filter_map(latest).collect())
    }
}
