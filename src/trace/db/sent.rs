//! What left, by docket.

use std::collections::BTreeMap;

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::Seq;
use crate::error::Result;
use crate::ids::{CustomerId, DispatchId, LotId};
use crate::measure::{Grams, LotCode};

/// One line of a docket.
#[derive(Debug, Clone)]
pub struct Sending {
    pub at: OffsetDateTime,
    pub dispatch: DispatchId,
    pub reference: String,
    pub lot: LotId,
    pub code: LotCode,
    pub description: String,
    pub grams: Grams,
}

/// What went to a customer, the latest first, and the customer's name; nothing when there is no such customer.
pub async fn sent_to(
    db: &mut PgConnection,
    customer: CustomerId,
    limit: i64,
) -> Result<Option<(String, Vec<Sending>)>> {
    let name = query_scalar!("SELECT name FROM customer WHERE id = $1", customer.0);
    let Some(name) = name.fetch_optional(&mut *db).await? else { return Ok(None) };
    let lines = query_as!(
        Sending,
        r#"SELECT d.happened_at AS at, d.id AS "dispatch: DispatchId", d.reference, l.id AS "lot: LotId",
                  l.code AS "code: LotCode", n.description, n.grams AS "grams: Grams"
           FROM dispatch d JOIN dispatch_line n ON n.dispatch = d.id JOIN lot l ON l.id = n.lot
           WHERE d.customer = $1 AND d.struck_by IS NULL ORDER BY d.happened_at DESC, n.n LIMIT $2"#,
        customer.0,
        limit
    );
    Ok(Some((name, lines.fetch_all(db).await?)))
}

/// What went out on one docket, its reference, and who got it.
pub async fn sent_in(
    db: &mut PgConnection,
    dispatch: DispatchId,
) -> Result<Option<(String, Option<(CustomerId, String)>, Vec<Sending>)>> {
    let head = query!(
        r#"SELECT d.reference AS "reference!", c.id AS "customer?: CustomerId", c.name AS "name?"
           FROM dispatch d LEFT JOIN customer c ON c.id = d.customer WHERE d.id = $1 AND d.struck_by IS NULL"#,
        dispatch.0
    );
    let Some(head) = head.fetch_optional(&mut *db).await? else { return Ok(None) };
    let lines = query_as!(
        Sending,
        r#"SELECT d.happened_at AS at, d.id AS "dispatch: DispatchId", d.reference, l.id AS "lot: LotId",
                  l.code AS "code: LotCode", n.description, n.grams AS "grams: Grams"
           FROM dispatch d JOIN dispatch_line n ON n.dispatch = d.id JOIN lot l ON l.id = n.lot
           WHERE d.id = $1 ORDER BY n.n"#,
        dispatch.0
    );
    Ok(Some((head.reference, head.customer.zip(head.name), lines.fetch_all(db).await?)))
}

/// The dockets on which these lots left, by the entry and the lot.
pub async fn dockets(
    db: &mut PgConnection,
    lots: &[LotId],
) -> Result<BTreeMap<(Seq, LotId), (DispatchId, String)>> {
    let ids: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query!(
        r#"SELECT n.seq AS "seq: Seq", n.lot AS "lot: LotId", d.id AS "id: DispatchId", d.reference
           FROM dispatch_line n JOIN dispatch d ON d.id = n.dispatch
           WHERE n.lot = ANY($1) AND d.struck_by IS NULL"#,
        &ids
    );
    let rows = rows.fetch_all(db).await?;
    Ok(rows.into_iter().map(|row| ((row.seq, row.lot), (row.id, row.reference))).collect())
}
