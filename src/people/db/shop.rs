//! The shop's own row.

use sqlx::{PgConnection, query, query_scalar};

use super::super::entry::{ShopChanged, ShopFounded};
use crate::book::{Project, Seq, Written};
use crate::error::Result;

impl Project for ShopFounded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO shop (name, address, number, system, zone, currency, small_division, large_division, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            self.name,
            self.address,
            self.number,
            self.system as _,
            self.zone.to_string(),
            self.currency.to_string(),
            self.small_division as _,
            self.large_division as _,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for ShopChanged {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let shop = &self.0;
        query!(
            "UPDATE shop SET name = $1, address = $2, number = $3, system = $4, zone = $5, currency = $6,
                 small_division = $7, large_division = $8, seq = $9",
            shop.name,
            shop.address,
            shop.number,
            shop.system as _,
            shop.zone.to_string(),
            shop.currency.to_string(),
            shop.small_division as _,
            shop.large_division as _,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// Whether there may be prices in the book: a lot has come in, or a thing has a sales price.
pub async fn has_money(db: &mut PgConnection) -> Result<bool> {
    Ok(query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM lot) OR EXISTS (SELECT 1 FROM item WHERE sales_price IS NOT NULL) AS "money!""#
    )
    .fetch_one(db)
    .await?)
}
