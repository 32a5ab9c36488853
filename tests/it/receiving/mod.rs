//! What comes through the door, through the router and a real database.

mod addresses;
mod checks;
mod deliveries;
mod lines;
mod suppliers;

use flitchbook::book::Form;
use flitchbook::ids::{ItemId, Named, PlaceId};
use flitchbook::receiving::entry::SupplierWritten;
use flitchbook::setup::entry::{PlaceKind, PlaceWritten};
use time::macros::date;

use crate::shop::{Cast, Page, Shop, Things, goes_to};

/// A shop with an approved farm, a store, a boxed loin, a curing salt and plain salt in the list.
pub struct Door {
    pub shop: Shop,
    pub things: Things,
    pub store: Named<PlaceId>,
    pub cure: Named<ItemId>,
    pub salt: Named<ItemId>,
    /// The address of an open delivery of docket D-118.
    pub path: String,
}

fn id(n: u128) -> uuid::Uuid {
    uuid::Uuid::from_u128(n)
}

/// The farm as the tests know it, approved until the end of March.
pub fn farm(things: &Things) -> SupplierWritten {
    SupplierWritten {
        supplier: things.farm.id,
        name: things.farm.name.clone(),
        address: "Hazelrigg, Elverford".into(),
        number: "UK EF 201".into(),
        contact: String::new(),
        approved_until: Some(date!(2027 - 03 - 31)),
        papers: String::new(),
        retired: false,
    }
}

impl Door {
    pub async fn open() -> Self {
        let shop = Shop::open().await;
        let things = shop.things().await;
        shop.sign(farm(&things)).await;
        let store = Named::new(PlaceId(id(301)), "dry store");
        let Named { id: place, name } = store.clone();
        let (kind, note) = (PlaceKind::Store, String::new());
        shop.sign(PlaceWritten { place, name, kind, within: None, read_every: None, note, retired: false })
            .await;
        let cure = Named::new(ItemId(id(302)), "curing salt no. 2");
        let salt = Named::new(ItemId(id(303)), "sea salt");
        shop.item(&cure, Form::Ingredient).await;
        shop.item(&salt, Form::Ingredient).await;
        let path = docket(&shop, &things, "D-118").await;
        Self { shop, things, store, cure, salt, path }
    }

    /// A chilled boxed loin that meets every check, with one or more fields changed.
    pub async fn loin(&self, cast: Cast, changed: &[(&str, &str)]) -> Page {
        let (item, place) = (self.things.loin.id.to_string(), self.things.cooler.id.to_string());
        let usual = [
            ("item", item.as_str()),
            ("weight", "8.4"),
            ("weight_unit", "kg"),
            ("temperature", "3.1"),
            ("frozen", "fresh"),
            ("solution", "0"),
            ("species", "pig"),
            ("establishment", "UK EF 201"),
            ("price", "6.20"),
            ("place", place.as_str()),
            ("answer", "received"),
        ];
        self.send(cast, &with(&usual, changed)).await
    }

    /// A sack of the curing salt, with one or more fields changed.
    pub async fn sack(&self, cast: Cast, changed: &[(&str, &str)]) -> Page {
        let (item, place) = (self.cure.id.to_string(), self.store.id.to_string());
        let usual = [
            ("item", item.as_str()),
            ("weight", "5 kg"),
            ("supplier_lot", "NP-4471"),
            ("best_before", "2028-05-31"),
            ("cure", "yes"),
            ("nitrite", "6.25"),
            ("nitrate", "4"),
            ("place", place.as_str()),
            ("answer", "received"),
        ];
        self.send(cast, &with(&usual, changed)).await
    }

    /// Sends the form of a line, with a fresh number unless it brings its own.
    async fn send(&self, cast: Cast, fields: &[(&str, &str)]) -> Page {
        if fields.iter().any(|(name, _)| *name == "id") {
            self.shop.post_raw(cast, &self.path, fields).await
        } else {
            self.shop.post(cast, &self.path, fields).await
        }
    }

    /// The page of the delivery.
    pub async fn page(&self) -> Page {
        self.shop.get(Cast::Cutter, &self.path).await
    }
}

/// The fields of a form with some of them changed or added.
pub fn with<'a>(usual: &[(&'a str, &'a str)], changed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = usual.iter().filter(|(name, _)| changed.iter().all(|(new, _)| new != name));
    kept.chain(changed).copied().collect()
}

/// Opens a docket of the farm; the address of the delivery.
pub async fn docket(shop: &Shop, things: &Things, number: &str) -> String {
    let supplier = things.farm.id.to_string();
    let fields = [("supplier", supplier.as_str()), ("docket", number), ("vehicle", "2.5"), ("when", "")];
    goes_to(&shop.post(Cast::Cutter, "/receiving/deliveries/new", &fields).await)
}

/// The lot's row of what was received, as text, by its code.
pub async fn received(shop: &Shop, code: &str, column: &str) -> Option<String> {
    let sql = format!("SELECT r.{column}::text FROM received r JOIN lot l ON l.id = r.lot WHERE l.code = $1");
    sqlx::query_scalar(sqlx::AssertSqlSafe(sql)).bind(code).fetch_one(&shop.app.book.pool).await.unwrap()
}
