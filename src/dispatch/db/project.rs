//! What the entries of dispatch write into its tables.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query};
use uuid::Uuid;

use crate::book::{Project, Seq, Written};
use crate::dispatch::entry::customer::CustomerWritten;
use crate::dispatch::entry::discard::LotsDiscarded;
use crate::dispatch::entry::docket::LotsDispatched;
use crate::dispatch::entry::pack::LotPacked;
use crate::error::{OnConstraint, Result};

impl Project for CustomerWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO customer (id, name, address, consignee, contact, retired, seq) VALUES ($1, $2, $3, $4, $5, $6, $7)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, address = excluded.address,
                 consignee = excluded.consignee, contact = excluded.contact, retired = excluded.retired,
                 seq = excluded.seq",
            self.customer.0,
            self.name,
            self.address,
            self.consignee,
            self.contact,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("customer_name_key", "name", "Another customer has this name.")?;
        Ok(())
    }
}

impl Project for LotPacked {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let lots: Vec<Uuid> = self.packs.iter().map(|pack| pack.lot.0).collect();
        query!(
            "INSERT INTO pack (lot, source, packed_at, use_by, date_word, keep, origin, handling, seq)
             SELECT u.lot, $2, $3, $4, $5, $6, $7, $8, $9 FROM unnest($1::uuid[]) AS u(lot)",
            &lots,
            self.source.id.0,
            at.happened_at,
            self.use_by,
            self.date_word.map_or("", |word| word.word()),
            self.keep,
            self.origin,
            self.handling,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE pack SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq).execute(db).await?;
        Ok(())
    }
}

impl Project for LotsDispatched {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let to = self.to.clone().unwrap_or_default();
        query!(
            "INSERT INTO dispatch (id, customer, reference, happened_at, from_name, from_address, consignor, to_name,
                                   to_address, consignee, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
            self.dispatch.0,
            self.customer.as_ref().map(|customer| customer.id.0),
            self.reference,
            at.happened_at,
            self.from.name,
            self.from.address,
            self.consignor,
            to.name,
            to.address,
            self.consignee,
            at.seq as Seq
        )
        .execute(&mut *db)
        .await?;
        let lots: Vec<Uuid> = self.lines.iter().map(|line| line.lot.id.0).collect();
        let descriptions: Vec<String> = self.lines.iter().map(|line| line.description.clone()).collect();
        let grams: Vec<Decimal> = self.lines.iter().map(|line| line.weight.decimal()).collect();
        let prices: Vec<Option<Decimal>> =
            self.lines.iter().map(|line| line.price.map(crate::measure::PricePerKg::decimal)).collect();
        query!(
            "INSERT INTO dispatch_line (dispatch, n, lot, description, grams, price, seq)
             SELECT $1, u.n, u.lot, u.description, u.grams, u.price, $6
             FROM unnest($2::uuid[], $3::text[], $4::numeric[], $5::numeric[])
                  WITH ORDINALITY AS u(lot, description, grams, price, n)",
            self.dispatch.0,
            &lots,
            &descriptions,
            &grams,
            &prices as &[Option<Decimal>],
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE dispatch SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for LotsDiscarded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let lots: Vec<Uuid> = self.lines.iter().map(|line| line.lot.id.0).collect();
        let grams: Vec<Decimal> = self.lines.iter().map(|line| line.weight.decimal()).collect();
        query!(
            "INSERT INTO discard (seq, lot, grams, reason)
             SELECT $1, u.lot, u.grams, $4 FROM unnest($2::uuid[], $3::numeric[]) AS u(lot, grams)",
            at.seq as Seq,
            &lots,
            &grams,
            self.reason
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE discard SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}
