//! SQL of the shop's things, places and instruments.

use sqlx::{PgConnection, query, query_as, query_scalar};

use super::entry::{
    InstrumentWritten, ItemStands, ItemWritten, Measures, PlaceKind, PlaceStands, PlaceWritten,
};
use crate::book::{Form, Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{InstrumentId, ItemId, Named, PlaceId};
use crate::measure::PricePerKg;

impl Project for ItemWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO item (id, name, form, species, label_name, number, allergens, sales_price, by_product, retired,
                               seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, form = excluded.form, species = excluded.species,
                 label_name = excluded.label_name, number = excluded.number, allergens = excluded.allergens,
                 sales_price = excluded.sales_price, by_product = excluded.by_product, retired = excluded.retired,
                 seq = excluded.seq",
            self.item.0,
            self.name,
            self.form.word(),
            self.species,
            self.label_name,
            self.number,
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
            "INSERT INTO place (id, name, kind, within, read_every, note, retired, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, kind = excluded.kind, within = excluded.within,
                 read_every = excluded.read_every, note = excluded.note, retired = excluded.retired,
                 seq = excluded.seq",
            self.place.0,
            self.name,
            self.kind.word(),
            self.within.map(|place| place.0),
            self.read_every.map(i16::try_from).transpose().map_err(anyhow::Error::from)?,
            self.note,
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
            "INSERT INTO instrument (id, name, measures, calibrate_every, retired, seq) VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, measures = excluded.measures,
                 calibrate_every = excluded.calibrate_every, retired = excluded.retired, seq = excluded.seq",
            self.instrument.0,
            self.name,
            self.measures.word(),
            self.calibrate_every.map(i32::from),
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
    /// Its number in a published specification of cuts; may be empty.
    pub number: String,
    /// Words of [`crate::standards::allergens`].
    pub allergens: Vec<String>,
    pub sales_price: Option<PricePerKg>,
    pub by_product: bool,
    pub retired: bool,
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
        r#"SELECT id AS "id: ItemId", name, form AS "form: Form", species, label_name, number, allergens,
                  sales_price AS "sales_price: PricePerKg", by_product, retired
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
        r#"SELECT id AS "id: ItemId", name, form AS "form: Form", species, label_name, number, allergens,
                  sales_price AS "sales_price: PricePerKg", by_product, retired
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
    pub note: String,
    pub retired: bool,
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
                  read_every, note, retired
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
                  read_every, note, retired
           FROM place WHERE NOT retired ORDER BY lower(name)"#
    );
    Ok(places.fetch_all(db).await?)
}

/// What figures are measured with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instrument {
    pub id: InstrumentId,
    pub name: String,
    pub measures: Measures,
    /// Days from one calibration to the next.
    pub calibrate_every: Option<i32>,
    pub retired: bool,
}

impl Instrument {
    /// The instrument as an entry names it.
    pub fn named(&self) -> Named<InstrumentId> {
        Named::new(self.id, self.name.clone())
    }
}

/// One instrument, unless it is no longer used.
pub async fn instrument(db: &mut PgConnection, id: InstrumentId) -> Result<Option<Instrument>> {
    Ok(any_instrument(db, id).await?.filter(|instrument| !instrument.retired))
}

/// The instruments in use, by name.
pub async fn instruments(db: &mut PgConnection) -> Result<Vec<Instrument>> {
    Ok(all_instruments(db).await?.into_iter().filter(|instrument| !instrument.retired).collect())
}

/// One thing of the list, in use or not.
pub async fn any_item(db: &mut PgConnection, id: ItemId) -> Result<Option<Item>> {
    let item = query_as!(
        Item,
        r#"SELECT id AS "id: ItemId", name, form AS "form: Form", species, label_name, number, allergens,
                  sales_price AS "sales_price: PricePerKg", by_product, retired
           FROM item WHERE id = $1"#,
        id.0
    );
    Ok(item.fetch_optional(db).await?)
}

/// Every thing of the list, in use or not, by name.
pub async fn all_items(db: &mut PgConnection) -> Result<Vec<Item>> {
    let items = query_as!(
        Item,
        r#"SELECT id AS "id: ItemId", name, form AS "form: Form", species, label_name, number, allergens,
                  sales_price AS "sales_price: PricePerKg", by_product, retired
           FROM item ORDER BY lower(name)"#
    );
    Ok(items.fetch_all(db).await?)
}

/// What the rules need to know of a thing that is in the list already.
pub async fn item_stands(db: &mut PgConnection, id: ItemId) -> Result<Option<ItemStands>> {
    let row = query!(
        r#"SELECT form AS "form: Form", EXISTS (SELECT 1 FROM lot l WHERE l.item = i.id) AS "has_lots!"
           FROM item i WHERE id = $1"#,
        id.0
    );
    let row = row.fetch_optional(db).await?;
    Ok(row.map(|row| ItemStands { form: row.form, has_lots: row.has_lots }))
}

/// One place, in use or not.
pub async fn any_place(db: &mut PgConnection, id: PlaceId) -> Result<Option<Place>> {
    Ok(all_places(db).await?.into_iter().find(|place| place.id == id))
}

/// Every place, in use or not, by name.
pub async fn all_places(db: &mut PgConnection) -> Result<Vec<Place>> {
    let places = query_as!(
        Place,
        r#"SELECT id AS "id: PlaceId", name, kind AS "kind: PlaceKind", within AS "within: PlaceId",
                  read_every, note, retired
           FROM place ORDER BY lower(name)"#
    );
    Ok(places.fetch_all(db).await?)
}

/// What stands around a place that is to be put within another: the other, and what that one is in.
pub async fn place_stands(
    db: &mut PgConnection,
    id: PlaceId,
    within: Option<PlaceId>,
) -> Result<PlaceStands> {
    let around = query_scalar!(
        r#"WITH RECURSIVE up(id) AS (
               SELECT $1::uuid WHERE $1 IS NOT NULL
               UNION SELECT p.within FROM up JOIN place p ON p.id = up.id WHERE p.within IS NOT NULL)
           SELECT id AS "id!: PlaceId" FROM up"#,
        within.map(|place| place.0) as Option<uuid::Uuid>
    )
    .fetch_all(&mut *db)
    .await?;
    let row = query!(
        r#"SELECT (SELECT count(*) FROM lot WHERE place = $1 AND grams > 0) AS "lots!",
                  (SELECT count(*) FROM place WHERE within = $1 AND NOT retired) AS "inside!""#,
        id.0
    );
    let row = row.fetch_one(db).await?;
    Ok(PlaceStands { around, lots: row.lots, inside: row.inside })
}

/// One instrument, in use or not.
pub async fn any_instrument(db: &mut PgConnection, id: InstrumentId) -> Result<Option<Instrument>> {
    let instrument = query_as!(
        Instrument,
        r#"SELECT id AS "id: InstrumentId", name, measures AS "measures: Measures", calibrate_every, retired
           FROM instrument WHERE id = $1"#,
        id.0
    );
    Ok(instrument.fetch_optional(db).await?)
}

/// Every instrument, in use or not, by name.
pub async fn all_instruments(db: &mut PgConnection) -> Result<Vec<Instrument>> {
    let instruments = query_as!(
        Instrument,
        r#"SELECT id AS "id: InstrumentId", name, measures AS "measures: Measures", calibrate_every, retired
           FROM instrument ORDER BY lower(name)"#
    );
    Ok(instruments.fetch_all(db).await?)
}

/// How many of each are in use.
pub struct Counts {
    pub items: i64,
    pub places: i64,
    pub instruments: i64,
    pub cut_lists: i64,
    /// Products in a family.
    pub products: i64,
    pub people: i64,
}

/// What the page of the set-up says beside each of its ways.
pub async fn counts(db: &mut PgConnection) -> Result<Counts> {
    let counts = query_as!(
        Counts,
        r#"SELECT (SELECT count(*) FROM item WHERE NOT retired) AS "items!",
                  (SELECT count(*) FROM place WHERE NOT retired) AS "places!",
                  (SELECT count(*) FROM instrument WHERE NOT retired) AS "instruments!",
                  (SELECT count(*) FROM cut_list WHERE NOT retired) AS "cut_lists!",
                  (SELECT count(*) FROM product_family) AS "products!",
                  (SELECT count(*) FROM person WHERE retired_by IS NULL) AS "people!""#
    );
    Ok(counts.fetch_one(db).await?)
}
