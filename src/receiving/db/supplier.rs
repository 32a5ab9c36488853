//! What the pages and the rules read of suppliers.

use sqlx::{PgConnection, query_as};
use time::{Date, OffsetDateTime};

use crate::error::Result;
use crate::ids::{LotId, Named, SupplierId};
use crate::measure::{Grams, LotCode};

/// Who brings it, as the book last says.
#[derive(Debug, Clone)]
pub struct Supplier {
    pub id: SupplierId,
    pub name: String,
    pub address: String,
    pub number: String,
    pub contact: String,
    pub approved_until: Option<Date>,
    pub papers: String,
    pub retired: bool,
}

impl Supplier {
    /// The supplier as an entry names it.
    pub fn named(&self) -> Named<SupplierId> {
        Named::new(self.id, self.name.clone())
    }
}

/// One supplier, retired or not.
pub async fn supplier(db: &mut PgConnection, id: SupplierId) -> Result<Option<Supplier>> {
    let supplier = query_as!(
        Supplier,
        r#"SELECT id AS "id: SupplierId", name, address, number, contact, approved_until, papers, retired
           FROM supplier WHERE id = $1"#,
        id.0
    );
    Ok(supplier.fetch_optional(db).await?)
}

/// The suppliers in use, by name.
pub async fn suppliers(db: &mut PgConnection) -> Result<Vec<Supplier>> {
    let suppliers = query_as!(
        Supplier,
        r#"SELECT id AS "id: SupplierId", name, address, number, contact, approved_until, papers, retired
           FROM supplier WHERE NOT retired ORDER BY lower(name)"#
    );
    Ok(suppliers.fetch_all(db).await?)
}

/// A supplier as the list of them shows it.
pub struct SupplierRow {
    pub id: SupplierId,
    pub name: String,
    pub number: String,
    pub approved_until: Option<Date>,
    pub retired: bool,
    pub deliveries: i64,
    pub last: Option<OffsetDateTime>,
}

/// All suppliers: those in use by name, then the retired ones.
pub async fn supplier_rows(db: &mut PgConnection) -> Result<Vec<SupplierRow>> {
    let rows = query_as!(
        SupplierRow,
        r#"SELECT s.id AS "id: SupplierId", s.name, s.number, s.approved_until, s.retired,
                  count(d.id) AS "deliveries!", max(d.happened_at) AS last
           FROM supplier s LEFT JOIN delivery d ON d.supplier = s.id AND d.struck_by IS NULL
           GROUP BY s.id ORDER BY s.retired, lower(s.name)"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot that a supplier brought.
pub struct SupplierLot {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub received: Grams,
    pub on_hand: Grams,
    pub held: bool,
    pub happened_at: OffsetDateTime,
}

/// The lots of a supplier, the latest first.
pub async fn lots_of(db: &mut PgConnection, id: SupplierId, limit: i64) -> Result<Vec<SupplierLot>> {
    let rows = query_as!(
        SupplierLot,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, r.grams AS "received: Grams",
                  l.grams AS "on_hand: Grams", d.happened_at,
                  EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL) AS "held!"
           FROM received r JOIN lot l ON l.id = r.lot JOIN delivery d ON d.id = r.delivery
           WHERE r.supplier = $1 AND r.struck_by IS NULL ORDER BY r.seq DESC LIMIT $2"#,
        id.0,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}
