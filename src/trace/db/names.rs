//! What the lots and the parties of a trace are called, and which lots a source is.

use std::collections::BTreeMap;
use std::str::FromStr;

use sqlx::{PgConnection, query, query_as, query_scalar};
use uuid::Uuid;

use crate::book::Form;
use crate::error::Result;
use crate::ids::{LotId, PlaceId};
use crate::measure::{Grams, LotCode};

/// A lot as a trace names it.
#[derive(Debug, Clone)]
pub struct Known {
    pub id: LotId,
    pub code: LotCode,
    pub form: Form,
    pub item_name: String,
    pub place: Option<PlaceId>,
    pub place_name: String,
    /// On hand now.
    pub grams: Grams,
    pub held: bool,
    pub struck: bool,
    /// Of what came through the door on four legs; empty otherwise.
    pub ear_tag: String,
    /// The supplier's own lot number; empty otherwise.
    pub supplier_lot: String,
}

/// Everything that a trace has to name.
#[derive(Debug, Clone, Default)]
pub struct Names {
    pub lots: BTreeMap<LotId, Known>,
    /// Suppliers and customers.
    pub parties: BTreeMap<Uuid, String>,
}

impl Names {
    /// The name of a party; what it is when the book has no name for it.
    pub fn party(&self, party: Option<Uuid>, otherwise: &str) -> String {
        party.and_then(|id| self.parties.get(&id)).cloned().unwrap_or_else(|| otherwise.to_owned())
    }

    /// The name of the place that one of the lots lies in.
    pub fn place(&self, place: PlaceId) -> Option<&str> {
        self.lots.values().find(|lot| lot.place == Some(place)).map(|lot| lot.place_name.as_str())
    }
}

/// Names these lots, and every supplier and customer.
pub async fn names(db: &mut PgConnection, lots: impl IntoIterator<Item = LotId>) -> Result<Names> {
    let ids: Vec<Uuid> = lots.into_iter().map(|lot| lot.0).collect();
    let known = query_as!(
        Known,
        r#"SELECT l.id AS "id!: LotId", l.code AS "code!: LotCode", l.form AS "form!: Form", l.item_name AS "item_name!",
                  l.place AS "place: PlaceId", coalesce(p.name, '') AS "place_name!", l.grams AS "grams!: Grams",
                  EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL) AS "held!",
                  l.struck_by IS NOT NULL AS "struck!", coalesce(r.ear_tag, '') AS "ear_tag!",
                  coalesce(r.supplier_lot, '') AS "supplier_lot!"
           FROM lot l LEFT JOIN place p ON p.id = l.place
                LEFT JOIN received r ON r.lot = l.id AND r.struck_by IS NULL
           WHERE l.id = ANY($1)"#,
        &ids
    );
    let known = known.fetch_all(&mut *db).await?;
    let parties = query!(
        r#"SELECT id AS "id!", name AS "name!" FROM supplier UNION ALL SELECT id, name FROM customer"#
    );
    let parties = parties.fetch_all(db).await?.into_iter().map(|row| (row.id, row.name));
    Ok(Names { lots: known.into_iter().map(|lot| (lot.id, lot)).collect(), parties: parties.collect() })
}

/// What can be traced forward as one source, by the word of its address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    Lot,
    Supplier,
    Delivery,
    EarTag,
    SlaughterLot,
    SupplierLot,
}

impl Sort {
    const ALL: [(Self, &'static str); 6] = [
        (Self::Lot, "lots"),
        (Self::Supplier, "suppliers"),
        (Self::Delivery, "deliveries"),
        (Self::EarTag, "ear-tags"),
        (Self::SlaughterLot, "slaughter-lots"),
        (Self::SupplierLot, "supplier-lots"),
    ];

    fn word(self) -> &'static str {
        Self::ALL.into_iter().find(|(sort, _)| *sort == self).map_or("", |(_, word)| word)
    }

    /// The address of everything from this source.
    pub fn path(self, key: &str) -> String {
        let key = percent_encoding::utf8_percent_encode(key, percent_encoding::NON_ALPHANUMERIC);
        format!("/trace/{}/{key}/everything", self.word())
    }
}

impl FromStr for Sort {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|(_, word)| *word == text).map(|(sort, _)| sort).ok_or(())
    }
}

/// A source: which lots it is, and what it is called.
#[derive(Debug, Clone)]
pub struct Source {
    /// "ear tag UK 301 042", "Hazel Farm"
    pub name: String,
    pub lots: Vec<LotId>,
}

/// The lots of a source; nothing when the book does not know it.
pub async fn source(db: &mut PgConnection, sort: Sort, key: &str) -> Result<Option<Source>> {
    let name = match (sort, Uuid::parse_str(key)) {
        (Sort::Lot, Ok(id)) => {
            query_scalar!("SELECT code FROM lot WHERE id = $1", id).fetch_optional(&mut *db).await?
        }
        (Sort::Supplier, Ok(id)) => {
            query_scalar!("SELECT name FROM supplier WHERE id = $1", id).fetch_optional(&mut *db).await?
        }
        (Sort::Delivery, Ok(id)) => {
            let docket = query_scalar!("SELECT docket FROM delivery WHERE id = $1", id);
            docket.fetch_optional(&mut *db).await?.map(|docket| format!("docket {docket}"))
        }
        (Sort::Lot | Sort::Supplier | Sort::Delivery, Err(_)) => None,
        (Sort::EarTag, _) => Some(format!("ear tag {key}")),
        (Sort::SlaughterLot, _) => Some(format!("slaughter lot {key}")),
        (Sort::SupplierLot, _) => Some(format!("supplier lot {key}")),
    };
    let Some(name) = name else { return Ok(None) };
    let lots = match (sort, key.parse()) {
        (Sort::Lot, Ok(lot)) => vec![lot],
        _ => received(db, sort, key).await?,
    };
    // A mark that no animal and no sack carries is not in the book; a supplier who has brought nothing yet is.
    let known = matches!(sort, Sort::Supplier | Sort::Delivery) || !lots.is_empty();
    Ok(known.then_some(Source { name, lots }))
}

/// The lots that came in under a supplier, a docket or a mark.
async fn received(db: &mut PgConnection, sort: Sort, key: &str) -> Result<Vec<LotId>> {
    let lots = query_scalar!(
        r#"SELECT lot AS "lot!: LotId" FROM received
           WHERE lot IS NOT NULL AND struck_by IS NULL AND
                 CASE $1 WHEN 'suppliers' THEN supplier::text WHEN 'deliveries' THEN delivery::text
                         WHEN 'ear-tags' THEN ear_tag WHEN 'slaughter-lots' THEN slaughter_lot
                         WHEN 'supplier-lots' THEN supplier_lot END = $2
           ORDER BY seq"#,
        sort.word(),
        key
    );
    Ok(lots.fetch_all(db).await?)
}
