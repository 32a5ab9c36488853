//! SQL of the shop's things, places and instruments.

use sqlx::{PgConnection, query, query_as};

use super::entry::{InstrumentWritten, ItemWritten, PlaceKind, PlaceWritten};
use crate::book::{Form, Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{ItemId, Named, PlaceId};
use crate::measure::PricePerKg;

impl Project for ItemWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO item (id, name, form, species, label_name, allergens, sales_price, by_product, retired, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, form = excluded.form, species = excluded.species,
                 label_name = excluded.label_name, allergens = excluded.allergens,
                 sales_price = excluded.sales_price, by_product = excluded.by_product, retired = excluded.retired,
                 seq = excluded.seq",
            self.item.0,
            self.name,
            self.form.word(),
            self.species,
            self.label_name,
            &self.allergens,
            self.sales_price as Option<PricePerKg>,
            self.by_product,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("item_name_key", "name", "Another thing in the list has this name.")?;
        Ok(())
    }
}

impl Project for PlaceWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO place (id, name, kind, within, read_every, retired, seq) VALUES ($1, $2, $3, $4, $5, $6, $7)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, kind = excluded.kind, within = excluded.within,
                 read_every = excluded.read_every, retired = excluded.retired, seq = excluded.seq",
            self.place.0,
            self.name,
            self.kind.word(),
            self.within.map(|place| place.0),
            self.read_every.map(i16::try_from).transpose().map_err(anyhow::Error::from)?,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("place_name_key", "name", "Another place has this name.")?;
        Ok(())
    }
}

impl Project for InstrumentWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO instrument (id, name, measures, retired, seq) VALUES ($1, $2, $3, $4, $5)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, measures = excluded.measures,
                 retired = excluded.retired, seq = excluded.seq",
            self.instrument.0,
            self.name,
            self.measures.word(),
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("instrument_name_key", "name", "Another instrument has this name.")?;
        Ok(())
    }
}

/// A thing in the shop's list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    pub id: ItemId,
    pub name: String,
    pub form: Form,
    pub species: String,
    pub label_name: String,
    pub allergens: Vec<String>,
    pub sales_price: Option<PricePerKg>,
    pub by_product: bool,
}

impl Item {
    /// The thing as an entry names it.
    pub fn named(&self) -> Named<ItemId> {
        Named::new(self.id, self.name.clone())
    }
}

/// One thing of the list, unless it is no longer used.
pub async fn item(db: &mut PgConnection, id: ItemId) -> Result<Option<Item>> {
    let item = query_as!(
        Item,
        r#"SELECT id AS "id: ItemId", name, form AS "form: Form", species, label_name, allergens,
                  sales_price AS "sales_price: PricePerKg", by_product
           FROM item WHERE id = $1 AND NOT retired"#,
        id.0
    );
    Ok(item.fetch_optional(db).await?)
}

/// The shop's list, by name; all forms when none is given.
pub async fn items(db: &mut PgConnection, forms: &[Form]) -> Result<Vec<Item>> {
    let words: Vec<String> = forms.iter().map(|form| form.word().to_owned()).collect();
    let items = query_as!(
        Item,
        r#"SELECT id AS "id: ItemId", name, form AS "form: Form", species, label_name, allergens,
                  sales_price AS "sales_price: PricePerKg", by_product
           FROM item WHERE NOT retired AND (cardinality($1::text[]) = 0 OR form = ANY($1)) ORDER BY lower(name)"#,
        &words
    );
    Ok(items.fetch_all(db).await?)
}

/// A place of the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    pub id: PlaceId,
    pub name: String,
    pub kind: PlaceKind,
    pub within: Option<PlaceId>,
    /// Hours between readings of it by hand.
    pub read_every: Option<i16>,
}

impl Place {
    /// The place as an entry names it.
    pub fn named(&self) -> Named<PlaceId> {
        Named::new(self.id, self.name.clone())
    }
}

/// One place, unless it is no longer used.
pub async fn place(db: &mut PgConnection, id: PlaceId) -> Result<Option<Place>> {
    let place = query_as!(
        Place,
        r#"SELECT id AS "id: PlaceId", name, kind AS "kind: PlaceKind", within AS "within: PlaceId",
                  read_every
           FROM place WHERE id = $1 AND NOT retired"#,
        id.0
    );
    Ok(place.fetch_optional(db).await?)
}

/// The places in use, by name.
pub async fn places(db: &mut PgConnection) -> Result<Vec<Place>> {
    let places = query_as!(
        Place,
        r#"SELECT id AS "id: PlaceId", name, kind AS "kind: PlaceKind", within AS "within: PlaceId",
                  read_every
           FROM place WHERE NOT retired ORDER BY lower(name)"#
    );
    Ok(places.fetch_all(db).await?)
}
