//! How deviations were decided, for whatever rests on such a decision.

use sqlx::{PgConnection, query};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::Seq;
use crate::deviations::entry::{Decision, DeviationClosed, HoldLifted};
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
    /// What it kept on hold, or sent to be reworked, and somebody let go by hand since.
    pub by_hand: Vec<ByHand>,
}

/// A hold of a decided deviation that was lifted by hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ByHand {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub initials: String,
    pub words: String,
    pub code: String,
}

impl Closing {
    /// "hold lifted by WT, line 57, of 26328-01.1, 26328-01.2: the core was cold"; nothing where nothing of it was let go.
    pub fn let_go(&self) -> Option<String> {
        let said = |initials: &str, seq: Seq, codes: &str, words: &str| {
            format!("hold lifted by {initials}, line {seq}, of {codes}: {}", words.trim_end_matches('.'))
        };
        let decided = (!self.lifted.is_empty())
            .then(|| said(&self.initials, self.seq, &self.lifted.join(", "), &self.words));
        let since = self.by_hand.iter().map(|one| said(&one.initials, one.seq, &one.code, &one.words));
        let all: Vec<String> = decided.into_iter().chain(since).collect();
        (!all.is_empty()).then(|| all.join("; "))
    }

    /// The lines that say so.
    pub fn by(&self) -> Vec<Seq> {
        std::iter::once(self.seq).chain(self.by_hand.iter().map(|one| one.seq)).collect()
    }

    /// When the last of it was written.
    pub fn last(&self) -> OffsetDateTime {
        self.by_hand.iter().map(|one| one.at).fold(self.at, OffsetDateTime::max)
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
    .fetch_all(&mut *db)
    .await?;
    let mut by_hand = lifted_by_hand(db, &ids).await?;
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
                by_hand: by_hand.extract_if(.., |(of, _)| *of == row.id).map(|(_, one)| one).collect(),
            })
        })
        .collect()
}

/// The holds of these deviations that were lifted by hand and stay lifted.
async fn lifted_by_hand(db: &mut PgConnection, deviations: &[Uuid]) -> Result<Vec<(DeviationId, ByHand)>> {
    let rows = query!(
        r#"SELECT d.id AS "id: DeviationId", e.seq AS "seq: Seq", e.recorded_at, e.body,
                  coalesce(w.initials, '') AS "initials!"
           FROM deviation d JOIN hold h ON h.seq = d.seq
           JOIN entry e ON e.seq = h.lifted_by AND e.kind = 'hold.lifted' LEFT JOIN signer w ON w.id = e.person
           WHERE d.id = ANY($1) AND d.struck_by IS NULL ORDER BY e.seq"#,
        deviations
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let HoldLifted { lot, words, .. } =
                serde_json::from_str(&row.body).map_err(anyhow::Error::from)?;
            let by_hand =
                ByHand { seq: row.seq, at: row.recorded_at, initials: row.initials, words, code: lot.name };
            Ok((row.id, by_hand))
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
            by_hand: vec![],
        };
        let said = "hold lifted by WT, line 57, of 26328-01.1, 26328-01.2: the core was cold";
        assert_eq!(closing.let_go().as_deref(), Some(said));
        assert_eq!(Closing { lifted: vec![], ..closing.clone() }.let_go(), None);
        // What it kept was let go by hand later.
        let by_hand = vec![ByHand {
            seq: Seq(61),
            at: datetime!(2026-11-27 09:00 UTC),
            initials: "RE".into(),
            words: "reworked".into(),
            code: "26328-01.3".into(),
        }];
        let kept = Closing { lifted: vec![], by_hand, ..closing };
        assert_eq!(kept.let_go().as_deref(), Some("hold lifted by RE, line 61, of 26328-01.3: reworked"));
        assert_eq!(kept.by(), [Seq(57), Seq(61)]);
        assert_eq!(kept.last(), datetime!(2026-11-27 09:00 UTC));
    }
}
