//! What of the plans waits today: checks that are due or late, and plans to be looked over.

use sqlx::PgConnection;
use time::OffsetDateTime;

use super::index::YEAR;
use crate::checks::Quantity;
use crate::deviations::On;
use crate::error::Result;
use crate::ids::PlaceId;
use crate::plan::db;
use crate::plan::due;
use crate::plan::entry::Asks;
use crate::web::Me;

/// One thing that waits.
#[derive(Debug, Clone)]
pub struct Pressing {
    /// The place or the batch.
    pub on: String,
    pub what: String,
    pub why: String,
    pub href: String,
    pub due_at: OffsetDateTime,
    /// The place and what is read there, so that it is not asked for twice.
    pub reads: Option<(PlaceId, Quantity)>,
    pub missed: bool,
}

/// Everything of the plans that is due by `end`, what presses most first.
pub async fn pressing(conn: &mut PgConnection, me: &Me, end: OffsetDateTime) -> Result<Vec<Pressing>> {
    let mut all = Vec::new();
    for due in due::due(conn, &me.shop, me.now).await? {
        let missed = !due.stand.missed.is_empty();
        if due.at_end || (due.stand.due_at >= end && !missed) {
            continue;
        }
        let number = due.ccp.map(|n| format!("CCP {n}, ")).unwrap_or_default();
        let reads = match (&due.check.asks, due.on.subject.on()) {
            (Asks::Measured { quantity, .. }, On::Place(place)) => Some((place, *quantity)),
            _ => None,
        };
        all.push(Pressing {
            on: due.on.subject.name().to_owned(),
            what: due.check.name.clone(),
            why: format!("{number}{}", due.plan),
            href: if missed { "/plan/round".into() } else { due.path() },
            due_at: due.stand.due_at,
            reads,
            missed,
        });
    }
    for plan in db::list(conn).await? {
        if let Some(at) = plan.assessed_at.filter(|at| *at + YEAR < end) {
            all.push(Pressing {
                on: "The plans".into(),
                what: format!("Reassess {}", plan.document.name),
                why: "once a year at least".into(),
                href: plan.id.path(),
                due_at: at + YEAR,
                reads: None,
                missed: false,
            });
        }
    }
    Ok(all)
}
