//! SQL of suppliers and deliveries.

use sqlx::{PgConnection, query, query_as};
use time::{Date, OffsetDateTime};

use super::entry::{DeliveryReceived, LotReceived, SupplierWritten};
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{DeliveryId, LotId, SupplierId};
use crate::measure::{Celsius, Grams, Percent, PricePerKg};

impl Project for SupplierWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO supplier (id, name, address, number, contact, approved_until, papers, retired, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, address = excluded.address,
                 number = excluded.number, contact = excluded.contact, approved_until = excluded.approved_until,
                 papers = excluded.papers, retired = excluded.retired, seq = excluded.seq",
            self.supplier.0,
            self.name,
            self.address,
            self.number,
            self.contact,
            self.approved_until,
            self.papers,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("supplier_name_key", "name", "Another supplier has this name.")?;
        Ok(())
    }
}

impl Project for DeliveryReceived {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO delivery (id, supplier, docket, vehicle, happened_at, seq) VALUES ($1, $2, $3, $4, $5, $6)",
            self.delivery.0,
            self.supplier.id.0,
            self.docket,
            self.vehicle as Option<Celsius>,
            at.happened_at,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE delivery SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for LotReceived {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let animal = self.animal.clone().unwrap_or_default();
        let goods = self.goods.clone().unwrap_or_default();
        query!(
            "INSERT INTO received (seq, delivery, supplier, lot, item, answer, reason, grams, temperature, price, species,
                                   breed, ear_tag, slaughter_lot, slaughtered, establishment, basis, frozen, solution,
                                   supplier_lot, best_before, allergens, nitrite, nitrate)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21,
                     $22, $23, $24)",
            at.seq as Seq,
            self.delivery.0,
            self.supplier.id.0,
            self.lot.0,
            self.item.id.0,
            if self.held.is_some() { "on hold" } else { "received" },
            self.held.clone().unwrap_or_default(),
            self.weight as Grams,
            self.temperature as Option<Celsius>,
            self.price as Option<PricePerKg>,
            animal.species,
            animal.breed,
            animal.ear_tag,
            animal.slaughter_lot,
            animal.slaughtered,
            animal.establishment,
            animal.basis.map_or("", super::entry::Basis::word),
            animal.frozen,
            animal.solution as Option<Percent>,
            goods.supplier_lot,
            goods.best_before,
            &goods.allergens,
            goods.nitrite as Option<Percent>,
            goods.nitrate as Option<Percent>
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE received SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

/// Where a lot came through the door.
#[derive(Debug, Clone)]
pub struct Origin {
    pub lot: LotId,
    pub delivery: DeliveryId,
    pub docket: String,
    pub supplier: SupplierId,
    pub supplier_name: String,
    pub grams: Grams,
    pub temperature: Option<Celsius>,
    pub price: Option<PricePerKg>,
    pub species: String,
    pub breed: String,
    pub ear_tag: String,
    pub slaughter_lot: String,
    pub slaughtered: Option<Date>,
    pub basis: String,
    pub supplier_lot: String,
    pub best_before: Option<Date>,
    pub happened_at: OffsetDateTime,
}

/// The line of the docket that a lot came in on; `None` for a lot that was made here.
pub async fn origin(db: &mut PgConnection, lot: LotId) -> Result<Option<Origin>> {
    let origin = query_as!(
        Origin,
        r#"SELECT r.lot AS "lot!: LotId", d.id AS "delivery: DeliveryId", d.docket, s.id AS "supplier: SupplierId",
                  s.name AS supplier_name, r.grams AS "grams: Grams", r.temperature AS "temperature: Celsius",
                  r.price AS "price: PricePerKg", r.species, r.breed, r.ear_tag, r.slaughter_lot, r.slaughtered,
                  r.basis, r.supplier_lot, r.best_before, d.happened_at
           FROM received r JOIN delivery d ON d.id = r.delivery JOIN supplier s ON s.id = r.supplier
           WHERE r.lot = $1 AND r.struck_by IS NULL"#,
        lot.0
    );
    Ok(origin.fetch_optional(db).await?)
}
