//! The projections of what is written at the door.

use sqlx::{PgConnection, query};

use super::super::entry::{
    Animal, Basis, ChecksWritten, DeliveryReceived, Failed, Goods, LotReceived, LotRefused, SupplierWritten,
};
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{DeliveryId, ItemId, LotId, SupplierId};
use crate::measure::{Celsius, Grams, Percent, PricePerKg};
use crate::standards::limits::Alkali;

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

impl Project for ChecksWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let checks = &self.checks;
        query!(
            "INSERT INTO receiving_checks (chilled, carcass, offal, solution, frozen, supplier, docket, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
             ON CONFLICT (one) DO UPDATE SET chilled = excluded.chilled, carcass = excluded.carcass,
                 offal = excluded.offal, solution = excluded.solution, frozen = excluded.frozen,
                 supplier = excluded.supplier, docket = excluded.docket, seq = excluded.seq",
            checks.chilled as Option<Celsius>,
            checks.carcass as Option<Celsius>,
            checks.offal as Option<Celsius>,
            checks.solution,
            checks.frozen,
            checks.supplier,
            checks.docket,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// A line of a docket as its table has it, taken in or refused.
struct Row<'a> {
    delivery: DeliveryId,
    supplier: SupplierId,
    lot: Option<LotId>,
    item: ItemId,
    answer: &'static str,
    reason: &'a str,
    failed: &'a [Failed],
    weight: Grams,
    temperature: Option<Celsius>,
    price: Option<PricePerKg>,
    animal: Option<&'a Animal>,
    goods: Option<&'a Goods>,
}

impl Row<'_> {
    async fn insert(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let animal = self.animal.cloned().unwrap_or_default();
        let goods = self.goods.cloned().unwrap_or_default();
        let failed: Vec<String> = self.failed.iter().map(|one| one.key().to_owned()).collect();
        query!(
            "INSERT INTO received (seq, delivery, supplier, lot, item, answer, reason, failed, grams, temperature, price,
                                   species, breed, ear_tag, slaughter_lot, slaughtered, establishment, basis, frozen,
                                   solution, supplier_lot, best_before, allergens, nitrite, nitrate,
                                   nitrite_salt, nitrate_salt)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21,
                     $22, $23, $24, $25, $26, $27)",
            at.seq as Seq,
            self.delivery.0,
            self.supplier.0,
            self.lot.map(|lot| lot.0),
            self.item.0,
            self.answer,
            self.reason,
            &failed,
            self.weight as Grams,
            self.temperature as Option<Celsius>,
            self.price as Option<PricePerKg>,
            animal.species,
            animal.breed,
            animal.ear_tag,
            animal.slaughter_lot,
            animal.slaughtered,
            animal.establishment,
            animal.basis.map_or("", Basis::word),
            animal.frozen,
            animal.solution as Option<Percent>,
            goods.supplier_lot,
            goods.best_before,
            &goods.allergens,
            goods.nitrite as Option<Percent>,
            goods.nitrate as Option<Percent>,
            goods.nitrite_salt.map(Alkali::word),
            goods.nitrate_salt.map(Alkali::word)
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

async fn strike_line(db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
    query!("UPDATE received SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq).execute(db).await?;
    Ok(())
}

impl Project for LotReceived {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let note = self.checked.as_ref().map_or("", |checked| checked.note.as_str());
        let row = Row {
            delivery: self.delivery,
            supplier: self.supplier.id,
            lot: Some(self.lot),
            item: self.item.id,
            answer: if self.held.is_some() { "on hold" } else { "received" },
            reason: self.held.as_deref().unwrap_or(note),
            failed: self.failed(),
            weight: self.weight,
            temperature: self.temperature,
            price: self.price,
            animal: self.animal.as_ref(),
            goods: self.goods.as_ref(),
        };
        row.insert(db, at).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        strike_line(db, at, by).await
    }
}

impl Project for LotRefused {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let row = Row {
            delivery: self.delivery,
            supplier: self.supplier.id,
            lot: None,
            item: self.item.id,
            answer: "refused",
            reason: &self.reason,
            failed: &self.failed,
            weight: self.weight,
            temperature: self.temperature,
            price: self.price,
            animal: self.animal.as_ref(),
            goods: self.goods.as_ref(),
        };
        row.insert(db, at).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        strike_line(db, at, by).await
    }
}
