//! What the pages and the rules read of deliveries and of the checks at the door.

use sqlx::{PgConnection, query_as, query_scalar};
use time::{Date, OffsetDateTime};

use super::super::entry::Checks;
use crate::book::{Form, Seq};
use crate::error::Result;
use crate::ids::{DeliveryId, ItemId, LotId, PlaceId, SupplierId};
use crate::measure::{Celsius, Grams, Percent, PricePerKg, UnitSystem};

/// What came through the door on one docket.
pub struct Delivery {
    pub id: DeliveryId,
    pub supplier: SupplierId,
    pub docket: String,
    pub vehicle: Option<Celsius>,
    pub happened_at: OffsetDateTime,
    pub struck: bool,
}

/// One delivery, struck or not.
pub async fn delivery(db: &mut PgConnection, id: DeliveryId) -> Result<Option<Delivery>> {
    let delivery = query_as!(
        Delivery,
        r#"SELECT id AS "id: DeliveryId", supplier AS "supplier: SupplierId", docket, vehicle AS "vehicle: Celsius",
                  happened_at, struck_by IS NOT NULL AS "struck!"
           FROM delivery WHERE id = $1"#,
        id.0
    );
    Ok(delivery.fetch_optional(db).await?)
}

/// When a docket with this number of this supplier was last taken in; case does not tell two numbers apart.
pub async fn same_docket(
    db: &mut PgConnection,
    supplier: SupplierId,
    docket: &str,
) -> Result<Option<OffsetDateTime>> {
    let day = query_scalar!(
        "SELECT happened_at FROM delivery
         WHERE supplier = $1 AND lower(docket) = lower($2) AND docket <> '' AND struck_by IS NULL
         ORDER BY seq DESC LIMIT 1",
        supplier.0,
        docket
    );
    Ok(day.fetch_optional(db).await?)
}

/// A delivery as the list of them shows it.
pub struct Listed {
    pub id: DeliveryId,
    pub seq: Seq,
    pub docket: String,
    pub happened_at: OffsetDateTime,
    pub supplier: SupplierId,
    pub supplier_name: String,
    /// Of what was taken in.
    pub grams: Grams,
    pub lines: i64,
    pub refused: i64,
    /// Lots of it that are on hold now.
    pub held: i64,
    /// Lines received although a check failed.
    pub accepted: i64,
}

/// The deliveries written before `before`, of one supplier or of all, the latest first.
pub async fn deliveries(
    db: &mut PgConnection,
    supplier: Option<SupplierId>,
    before: Seq,
    limit: i64,
) -> Result<Vec<Listed>> {
    let rows = query_as!(
        Listed,
        r#"SELECT d.id AS "id: DeliveryId", d.seq AS "seq: Seq", d.docket, d.happened_at,
                  s.id AS "supplier: SupplierId", s.name AS supplier_name,
                  coalesce(sum(r.grams) FILTER (WHERE r.answer <> 'refused'), 0) AS "grams!: Grams",
                  count(r.seq) AS "lines!", count(*) FILTER (WHERE r.answer = 'refused') AS "refused!",
                  count(*) FILTER (WHERE EXISTS (SELECT 1 FROM hold h WHERE h.lot = r.lot AND h.lifted_by IS NULL))
                      AS "held!",
                  count(*) FILTER (WHERE r.answer = 'received' AND cardinality(r.failed) > 0) AS "accepted!"
           FROM delivery d JOIN supplier s ON s.id = d.supplier
           LEFT JOIN received r ON r.delivery = d.id AND r.struck_by IS NULL
           WHERE d.struck_by IS NULL AND d.seq < $2 AND ($1::uuid IS NULL OR d.supplier = $1)
           GROUP BY d.id, s.id ORDER BY d.seq DESC LIMIT $3"#,
        supplier.map(|id| id.0),
        before as Seq,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// The shop's checks, or the usual ones while it has set none.
pub async fn checks(db: &mut PgConnection, system: UnitSystem) -> Result<Checks> {
    let row = query_as!(
        Checks,
        r#"SELECT chilled AS "chilled: Celsius", carcass AS "carcass: Celsius", offal AS "offal: Celsius", solution,
                  frozen, supplier, docket
           FROM receiving_checks"#
    );
    Ok(row.fetch_optional(db).await?.unwrap_or_else(|| Checks::usual(system)))
}

/// A line that stands and that the next one may be like.
pub struct Last {
    pub place: Option<PlaceId>,
    pub price: Option<PricePerKg>,
    pub species: String,
    pub breed: String,
    pub slaughter_lot: String,
    pub slaughtered: Option<Date>,
    pub establishment: String,
    pub basis: String,
    pub frozen: bool,
    pub solution: Option<Percent>,
    pub supplier_lot: String,
    pub best_before: Option<Date>,
    pub allergens: Vec<String>,
    pub nitrite: Option<Percent>,
    pub nitrate: Option<Percent>,
    pub nitrite_salt: Option<String>,
    pub nitrate_salt: Option<String>,
}

/// The last line of this item on this docket.
pub async fn last_like(db: &mut PgConnection, delivery: DeliveryId, item: ItemId) -> Result<Option<Last>> {
    let last = query_as!(
        Last,
        r#"SELECT (SELECT p.place FROM put p WHERE p.lot = r.lot AND p.seq = r.seq) AS "place: PlaceId",
                  r.price AS "price: PricePerKg", r.species, r.breed, r.slaughter_lot, r.slaughtered, r.establishment,
                  r.basis, r.frozen, r.solution AS "solution: Percent", r.supplier_lot, r.best_before, r.allergens,
                  r.nitrite AS "nitrite: Percent", r.nitrate AS "nitrate: Percent", r.nitrite_salt,
                  r.nitrate_salt
           FROM received r WHERE r.delivery = $1 AND r.item = $2 AND r.struck_by IS NULL
           ORDER BY r.seq DESC LIMIT 1"#,
        delivery.0,
        item.0
    );
    Ok(last.fetch_optional(db).await?)
}

/// A thing that a supplier brings.
pub struct Usual {
    pub item: ItemId,
    pub name: String,
    pub form: Form,
}

/// What a supplier brought most often lately, to be picked first.
pub async fn usual_items(db: &mut PgConnection, supplier: SupplierId, limit: i64) -> Result<Vec<Usual>> {
    let rows = query_as!(
        Usual,
        r#"SELECT i.id AS "item: ItemId", i.name, i.form AS "form: Form"
           FROM (SELECT r.item, r.seq FROM received r
                 WHERE r.supplier = $1 AND r.struck_by IS NULL ORDER BY r.seq DESC LIMIT 200) r
           JOIN item i ON i.id = r.item
           WHERE NOT i.retired GROUP BY i.id ORDER BY count(*) DESC, max(r.seq) DESC LIMIT $2"#,
        supplier.0,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// How a line of a delivery stands now.
pub struct LineNow {
    pub seq: Seq,
    /// None where it was refused.
    pub lot: Option<LotId>,
    pub grams: Grams,
    pub answer: String,
    pub held: bool,
}

/// The lines of a delivery that stand, in the order of the book.
pub async fn lines_now(db: &mut PgConnection, delivery: DeliveryId) -> Result<Vec<LineNow>> {
    let rows = query_as!(
        LineNow,
        r#"SELECT r.seq AS "seq: Seq", r.lot AS "lot: LotId", r.grams AS "grams: Grams", r.answer,
                  EXISTS (SELECT 1 FROM hold h WHERE h.lot = r.lot AND h.lifted_by IS NULL) AS "held!"
           FROM received r WHERE r.delivery = $1 AND r.struck_by IS NULL ORDER BY r.seq"#,
        delivery.0
    );
    Ok(rows.fetch_all(db).await?)
}
