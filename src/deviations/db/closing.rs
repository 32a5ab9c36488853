//! How deviations were decided, for whatever rests on such a decision.

use sqlx::{PgConnection, query};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::Seq;
use crate::deviations::entry::{Decision, DeviationClosed};
use crate::error::Result;
use crate::ids::DeviationId;

/// The decision that closed a deviation: its four parts were written, and somebody with the right said what becomes of each lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    pub deviation: DeviationId,
    pub seq: Seq,
    /// When it was written.
    pub at: OffsetDateTime,
    pub initials: String,
    /// Why it was decided so.
    pub words: String,
    /// The lots that it let go, by their codes.
    pub lifted: Vec<String>,
}

impl Closing {
    /// "hold lifted by WT, line 57, of 26328-01.1, 26328-01.2: the core was cold"; nothing where it let nothing go.
    pub fn let_go(&self) -> Option<String> {
        let Self { initials, seq, words, lifted, .. } = self;
        let why = words.trim_end_matches('.');
        (!lifted.is_empty())
            .then(|| format!("hold lifted by {initials}, line {seq}, of {}: {why}", lifted.join(", ")))
    }
}

/// The decisions on these deviations, as far as they are closed and stand.
pub async fn closings(db: &mut PgConnection, deviations: &[DeviationId]) -> Result<Vec<Closing>> {
    if deviations.is_empty() {
        return Ok(Vec::new());
    }
    let ids: Vec<Uuid> = deviations.iter().map(|deviation| deviation.0).collect();
    let rows = query!(
        r#"SELECT d.id AS "id: DeviationId", e.seq AS "seq: Seq", e.recorded_at, e.body,
                  coalesce(w.initials, '') AS "initials!"
           FROM deviation d JOIN entry e ON e.seq = d.closed_by LEFT JOIN signer w ON w.id = e.person
           WHERE d.id = ANY($1) AND d.struck_by IS NULL ORDER BY e.seq"#,
        &ids
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let closed: DeviationClosed = serde_json::from_str(&row.body).map_err(anyhow::Error::from)?;
            let lifted = closed.lots.into_iter().filter(|decided| decided.decision == Decision::Lift);
            Ok(Closing {
                deviation: row.id,
                seq: row.seq,
                at: row.recorded_at,
                initials: row.initials,
                words: closed.words,
                lifted: lifted.map(|decided| decided.lot.name).collect(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn a_decision_names_who_made_it_its_line_its_lots_and_its_words() {
        let closing = Closing {
            deviation: DeviationId(Uuid::from_u128(1)),
            seq: Seq(57),
            at: datetime!(2026-11-25 09:00 UTC),
            initials: "WT".into(),
            words: "the core was cold.".into(),
            lifted: vec!["26328-01.1".into(), "26328-01.2".into()],
        };
        let said = "hold lifted by WT, line 57, of 26328-01.1, 26328-01.2: the core was cold";
        assert_eq!(closing.let_go().as_deref(), Some(said));
        assert_eq!(Closing { lifted: vec![], ..closing }.let_go(), None);
    }
}
