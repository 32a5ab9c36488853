//! Families as the shop last wrote them, and the products in them.

use sqlx::{PgConnection, query, query_as};

use crate::book::{Form, Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{FamilyId, ItemId, Named};
use crate::release::entry::{FamilyWritten, ProductPlaced};

impl Project for FamilyWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let criteria = serde_json::to_string(&self.criteria).map_err(anyhow::Error::from)?;
        let loosened = serde_json::to_string(&self.loosened).map_err(anyhow::Error::from)?;
        query!(
            "INSERT INTO family (id, name, shipped, version, criteria, loosened, asks_review, seq)
             VALUES ($1, $2, $3, 1, $4, $5, $6, $7)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, shipped = excluded.shipped,
                 version = family.version + 1, criteria = excluded.criteria, loosened = excluded.loosened,
                 asks_review = excluded.asks_review, seq = excluded.seq",
            self.family.0,
            self.name,
            self.shipped,
            criteria,
            loosened,
            self.asks_review(),
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("family_name_key", "name", "Another family has this name.")?;
        Ok(())
    }
}

impl Project for ProductPlaced {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO product_family (product, family, seq) VALUES ($1, $2, $3)
             ON CONFLICT (product) DO UPDATE SET family = excluded.family, seq = excluded.seq",
            self.product.id.0,
            self.family.id.0,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

struct Row {
    id: FamilyId,
    name: String,
    shipped: String,
    version: i32,
    criteria: String,
    loosened: String,
}

impl Row {
    fn read(self) -> Result<(FamilyWritten, u32)> {
        let family = FamilyWritten {
            family: self.id,
            name: self.name,
            shipped: self.shipped,
            criteria: serde_json::from_str(&self.criteria).map_err(anyhow::Error::from)?,
            loosened: serde_json::from_str(&self.loosened).map_err(anyhow::Error::from)?,
        };
        Ok((family, u32::try_from(self.version).map_err(anyhow::Error::from)?))
    }
}

/// The shop's families by name, each with how often it was written.
pub async fn families(db: &mut PgConnection) -> Result<Vec<(FamilyWritten, u32)>> {
    let rows = query_as!(
        Row,
        r#"SELECT id AS "id: FamilyId", name, shipped, version, criteria, loosened FROM family ORDER BY lower(name)"#
    );
    rows.fetch_all(db).await?.into_iter().map(Row::read).collect()
}

/// One family of the shop's.
pub async fn family(db: &mut PgConnection, id: FamilyId) -> Result<Option<(FamilyWritten, u32)>> {
    let row = query_as!(
        Row,
        r#"SELECT id AS "id: FamilyId", name, shipped, version, criteria, loosened FROM family WHERE id = $1"#,
        id.0
    );
    row.fetch_optional(db).await?.map(Row::read).transpose()
}

/// The family that a product is in.
pub async fn family_of(db: &mut PgConnection, product: ItemId) -> Result<Option<(FamilyWritten, u32)>> {
    let row = query_as!(
        Row,
        r#"SELECT f.id AS "id: FamilyId", f.name, f.shipped, f.version, f.criteria, f.loosened
           FROM product_family p JOIN family f ON f.id = p.family WHERE p.product = $1"#,
        product.0
    );
    row.fetch_optional(db).await?.map(Row::read).transpose()
}

/// A product, and the family that it is in.
pub struct Placed {
    pub product: Named<ItemId>,
    pub form: Form,
    pub family: Option<Named<FamilyId>>,
}

/// Everything that is made into pieces, and what else is in a family: those in none first, by name.
pub async fn products(db: &mut PgConnection) -> Result<Vec<Placed>> {
    let rows = query!(
        r#"SELECT i.id AS "id: ItemId", i.name, i.form AS "form: Form", f.id AS "family?: FamilyId",
                  f.name AS "family_name?"
           FROM item i LEFT JOIN product_family p ON p.product = i.id LEFT JOIN family f ON f.id = p.family
           WHERE NOT i.retired AND (p.product IS NOT NULL OR i.form = 'piece')
           ORDER BY f.id IS NOT NULL, lower(i.name)"#
    )
    .fetch_all(db)
    .await?;
    let placed = rows.into_iter().map(|row| Placed {
        product: Named::new(row.id, row.name),
        form: row.form,
        family: row.family.zip(row.family_name).map(|(id, name)| Named::new(id, name)),
    });
    Ok(placed.collect())
}
