//! Products with their controls, methods, freezings: what the pages of the shop's choices read.

use sqlx::{PgConnection, query_as};
use time::OffsetDateTime;

use crate::book::Seq;
use crate::error::Result;
use crate::ids::{ItemId, PlaceId};
use crate::measure::Length;
use crate::standards::trichinella::Method;

/// A product that a recipe makes, and its control where one is chosen.
#[derive(Debug, Clone)]
pub struct Product {
    pub product: ItemId,
    pub name: String,
    pub species: String,
    pub control: Option<String>,
    pub document: Option<String>,
}

/// Every product of a recipe that is in use, by name.
pub async fn products(db: &mut PgConnection) -> Result<Vec<Product>> {
    let rows = query_as!(
        Product,
        r#"SELECT i.id AS "product: ItemId", i.name, i.species, c.control AS "control?", c.document AS "document?"
           FROM item i LEFT JOIN parasite_control c ON c.product = i.id
           WHERE i.id IN (SELECT v.product FROM recipe_version v JOIN recipe r ON r.id = v.recipe AND NOT r.retired)
              OR c.product IS NOT NULL
           ORDER BY lower(i.name)"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// The control of a product as it was chosen last.
#[derive(Debug, Clone)]
pub struct Chosen {
    pub control: String,
    pub document: String,
    pub reason: String,
    pub particle: Option<Length>,
    pub states: Vec<String>,
    pub seq: Seq,
}

pub async fn chosen(db: &mut PgConnection, product: ItemId) -> Result<Option<Chosen>> {
    let row = query_as!(
        Chosen,
        r#"SELECT control, document, reason, particle AS "particle: Length", states, seq AS "seq: Seq"
           FROM parasite_control WHERE product = $1"#,
        product.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// A product by its id; its species is that of the meats that its recipes take, where it has none itself.
pub async fn product(db: &mut PgConnection, id: ItemId) -> Result<Option<Product>> {
    let row = query_as!(
        Product,
        r#"SELECT i.id AS "product: ItemId", i.name,
                  CASE WHEN i.species <> '' THEN i.species ELSE coalesce(
                      (SELECT string_agg(DISTINCT m.species, ' and ')
                       FROM recipe_version v
                       JOIN recipe_line n ON n.recipe = v.recipe AND n.version = v.version AND n.role IN ('meat', 'fat')
                       JOIN item m ON m.id = n.item
                       WHERE v.product = i.id AND m.species <> ''), '') END AS "species!",
                  c.control AS "control?", c.document AS "document?"
           FROM item i LEFT JOIN parasite_control c ON c.product = i.id WHERE i.id = $1"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// A method that the shop has spoken of.
#[derive(Debug, Clone)]
pub struct ConfirmedMethod {
    pub method: String,
    pub in_force: bool,
    pub reason: String,
}

impl ConfirmedMethod {
    /// The methods that are in force among them.
    pub fn in_force(all: &[Self]) -> Vec<Method> {
        all.iter().filter(|one| one.in_force).filter_map(|one| Method::of_key(&one.method)).collect()
    }
}

pub async fn methods(db: &mut PgConnection) -> Result<Vec<ConfirmedMethod>> {
    let rows =
        query_as!(ConfirmedMethod, "SELECT method, in_force, reason FROM parasite_method ORDER BY method");
    Ok(rows.fetch_all(db).await?)
}

/// A freezing that somebody stated.
#[derive(Debug, Clone)]
pub struct FreezingRow {
    pub seq: Seq,
    pub codes: String,
    pub freezer: PlaceId,
    pub freezer_name: String,
    pub thickness: Length,
    pub spaced: bool,
    pub from: OffsetDateTime,
    pub to: Option<OffsetDateTime>,
}

/// The latest first.
pub async fn freezings(db: &mut PgConnection, limit: i64) -> Result<Vec<FreezingRow>> {
    let rows = query_as!(
        FreezingRow,
        r#"SELECT f.seq AS "seq: Seq", f.freezer AS "freezer: PlaceId", p.name AS freezer_name,
                  f.thickness AS "thickness: Length", f.spaced, f.begun_at AS "from", f.ended_at AS "to",
                  coalesce((SELECT string_agg(l.code, ', ' ORDER BY l.code) FROM freezing_lot o JOIN lot l ON l.id = o.lot
                            WHERE o.seq = f.seq), '') AS "codes!"
           FROM freezing f JOIN place p ON p.id = f.freezer WHERE f.struck_by IS NULL ORDER BY f.seq DESC LIMIT $1"#,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}
