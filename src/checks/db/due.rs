//! Which places are to be read, and when.

use sqlx::{PgConnection, query};
use time::{Duration, OffsetDateTime};

use super::limits;
use crate::checks::entry::{LimitWritten, Quantity, Where};
use crate::error::Result;
use crate::ids::{Named, PlaceId};
use crate::setup::entry::PlaceKind;

/// A reading of a place that is due, or will be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    pub place: Named<PlaceId>,
    pub quantity: Quantity,
    /// When it was last read; `None`: never.
    pub last: Option<OffsetDateTime>,
    pub due_at: OffsetDateTime,
    /// How far past that it is now; `None` while it is not.
    pub late_by: Option<Duration>,
}

/// Every place that is read every so many hours, for each quantity that a limit is in force for (its temperature where
/// there is none), the most pressing first.
pub async fn due(db: &mut PgConnection, now: OffsetDateTime) -> Result<Vec<Due>> {
    let limits = limits::limits(db).await?;
    let rows = query!(
        r#"SELECT p.id AS "id: PlaceId", p.name, p.kind AS "kind: PlaceKind", p.read_every AS "every!",
                  e.happened_at AS since,
                  ARRAY(SELECT r.quantity FROM reading r WHERE r.place = p.id AND r.struck_by IS NULL
                        GROUP BY r.quantity ORDER BY r.quantity) AS "quantities!: Vec<Quantity>",
                  ARRAY(SELECT max(r.at) FROM reading r WHERE r.place = p.id AND r.struck_by IS NULL
                        GROUP BY r.quantity ORDER BY r.quantity) AS "lasts!: Vec<OffsetDateTime>"
           FROM place p JOIN entry e ON e.seq = p.seq
           WHERE p.read_every IS NOT NULL AND NOT p.retired"#
    )
    .fetch_all(db)
    .await?;
    let mut all = Vec::new();
    for row in rows {
        let here = Where { place: Some(row.id), kind: Some(row.kind), ..Where::default() };
        for quantity in to_read(&limits, &here) {
            let read = row.quantities.iter().position(|known| *known == quantity);
            let last = read.and_then(|n| row.lasts.get(n)).copied();
            let due_at = last.map_or(row.since, |last| last + Duration::hours(i64::from(row.every)));
            let late_by = (now > due_at).then(|| now - due_at);
            all.push(Due { place: Named::new(row.id, row.name.clone()), quantity, last, due_at, late_by });
        }
    }
    all.sort_by(|a, b| (a.due_at, &a.place.name, a.quantity).cmp(&(b.due_at, &b.place.name, b.quantity)));
    Ok(all)
}

/// What there is to read in a place: whatever a limit is in force for, and its temperature where none is.
fn to_read(limits: &[LimitWritten], here: &Where) -> Vec<Quantity> {
    let limited = |quantity: &Quantity| {
        limits.iter().any(|limit| !limit.retired && limit.quantity == *quantity && limit.holds_for(here))
    };
    let quantities: Vec<Quantity> = Quantity::ALL.into_iter().filter(limited).collect();
    if quantities.is_empty() { vec![Quantity::Temperature] } else { quantities }
}
