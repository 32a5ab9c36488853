//! What each entry of this area writes into its tables, and how the shop's choice and the last judgement read.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;

use crate::book::{self, Project, Seq};
use crate::deviations::{self, On};
use crate::error::Result;
use crate::fermenting::entry::{Adopted, FermentationJudged, FermentationRuleAdopted, Outcome};
use crate::ids::{BatchId, DeviationId};

impl Project for FermentationRuleAdopted {
    async fn apply(&self, db: &mut PgConnection, at: &book::Written) -> Result<()> {
        query!(
            "INSERT INTO fermentation_rule (rules, method, edge, largest_gap, source, seq)
             VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (one) DO UPDATE SET rules = excluded.rules, method = excluded.method, edge = excluded.edge,
                 largest_gap = excluded.largest_gap, source = excluded.source, seq = excluded.seq",
            self.rules.word(),
            self.method.word(),
            self.edge.word(),
            i16::try_from(self.largest_gap).map_err(anyhow::Error::from)?,
            self.source,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for FermentationJudged {
    async fn apply(&self, db: &mut PgConnection, at: &book::Written) -> Result<()> {
        query!(
            "INSERT INTO fermentation_judged (seq, batch, outcome, figure, most, until)
             VALUES ($1, $2, $3, $4, $5, $6)",
            at.seq as Seq,
            self.batch.id.0,
            self.outcome.word(),
            self.figure,
            self.limit,
            self.until
        )
        .execute(&mut *db)
        .await?;
        match &self.deviation {
            Some(opened) => deviations::open(db, opened, On::Batch(self.batch.id), at).await,
            None => Ok(()),
        }
    }

    async fn unapply(&self, db: &mut PgConnection, at: &book::Written, by: Seq) -> Result<()> {
        query!("UPDATE fermentation_judged SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(&mut *db)
            .await?;
        deviations::unopen(db, at, by).await
    }
}

/// What the shop goes by, and what it said of where that is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    pub adopted: Adopted,
    pub source: String,
}

/// The rule set that the shop has adopted; none as long as it has not.
pub async fn adopted(db: &mut PgConnection) -> Result<Option<Written>> {
    let row = query!("SELECT rules, method, edge, largest_gap, source FROM fermentation_rule")
        .fetch_optional(db)
        .await?;
    let Some(row) = row else { return Ok(None) };
    let unknown = |what: &str| anyhow::anyhow!("the adopted rule set names an unknown {what}");
    let adopted = Adopted {
        rules: row.rules.parse().map_err(|()| unknown("set"))?,
        method: row.method.parse().map_err(|()| unknown("method"))?,
        edge: row.edge.parse().map_err(|()| unknown("edge"))?,
        largest_gap: u16::try_from(row.largest_gap).map_err(anyhow::Error::from)?,
    };
    Ok(Some(Written { adopted, source: row.source }))
}

/// How a batch was judged last, and the deviation that stands open on it since.
#[derive(Debug, Clone)]
pub struct LastJudged {
    pub batch: BatchId,
    pub seq: Seq,
    pub outcome: Outcome,
    pub figure: Decimal,
    pub most: Decimal,
    pub until: OffsetDateTime,
    /// The deviation that this judgement, or an earlier one of the batch that stands, has opened.
    pub deviation: Option<DeviationId>,
    pub open: bool,
}

/// The last judgement of each of these batches that is not struck.
pub async fn last_judged(db: &mut PgConnection, batches: &[BatchId]) -> Result<Vec<LastJudged>> {
    let ids: Vec<uuid::Uuid> = batches.iter().map(|batch| batch.0).collect();
    let rows = query_as!(
        LastJudged,
        r#"SELECT DISTINCT ON (j.batch) j.batch AS "batch: BatchId", j.seq AS "seq: Seq",
                  j.outcome AS "outcome: Outcome", j.figure, j.most, j.until, d.id AS "deviation?: DeviationId",
                  coalesce(d.closed_by IS NULL AND d.id IS NOT NULL, false) AS "open!"
           FROM fermentation_judged j
           LEFT JOIN LATERAL (SELECT d.id, d.closed_by FROM deviation d
                              JOIN fermentation_judged o ON o.seq = d.seq AND o.struck_by IS NULL
                              WHERE o.batch = j.batch AND d.struck_by IS NULL ORDER BY d.seq DESC LIMIT 1) d ON true
           WHERE j.batch = ANY($1) AND j.struck_by IS NULL ORDER BY j.batch, j.seq DESC"#,
        &ids
    );
    Ok(rows.fetch_all(db).await?)
}
