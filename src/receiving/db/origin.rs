//! What other areas ask of what came through the door.

use std::collections::BTreeMap;

use sqlx::{PgConnection, query_as};
use time::{Date, OffsetDateTime};
use uuid::Uuid;

use crate::book::Seq;
use crate::error::Result;
use crate::ids::{DeliveryId, ItemId, LotId, SupplierId};
use crate::measure::{Celsius, Grams, Percent, PricePerKg};
use crate::standards::ingoing::Brings;
use crate::standards::limits::Alkali;

/// Where a lot came through the door, and all that the docket and the tag said of it.
#[derive(Debug, Clone)]
pub struct Origin {
    pub lot: LotId,
    /// The entry that took it in.
    pub seq: Seq,
    pub delivery: DeliveryId,
    /// Empty when it came without one.
    pub docket: String,
    pub supplier: SupplierId,
    pub supplier_name: String,
    pub supplier_address: String,
    pub supplier_number: String,
    /// As received, before anything was taken from it.
    pub grams: Grams,
    pub temperature: Option<Celsius>,
    pub price: Option<PricePerKg>,
    pub species: String,
    pub breed: String,
    pub ear_tag: String,
    pub slaughter_lot: String,
    pub slaughtered: Option<Date>,
    pub establishment: String,
    /// "hot", "chilled" or empty.
    pub basis: String,
    pub frozen: bool,
    /// Added solution; none where nobody said.
    pub solution: Option<Percent>,
    pub supplier_lot: String,
    pub best_before: Option<Date>,
    pub allergens: Vec<String>,
    /// Of a cure, per cent by weight as NaNO2.
    pub nitrite: Option<Percent>,
    /// Of a cure, per cent by weight as NaNO3.
    pub nitrate: Option<Percent>,
    /// "received" or "on hold", as it was answered at the door; whether it is held now, the lot says.
    pub answer: String,
    /// Why it was held, or why it was received although a check failed.
    pub reason: String,
    /// The checks that it did not meet, by their words.
    pub failed: Vec<String>,
    pub happened_at: OffsetDateTime,
}

/// `query_as!` takes its text literally, so the columns of an origin stand here once.
macro_rules! origins {
    ($tail:literal, $($arg:expr),*) => {
        query_as!(
            Origin,
            r#"SELECT r.lot AS "lot!: LotId", r.seq AS "seq: Seq", d.id AS "delivery: DeliveryId", d.docket,
                      s.id AS "supplier: SupplierId", s.name AS supplier_name, s.address AS supplier_address,
                      s.number AS supplier_number, r.grams AS "grams: Grams", r.temperature AS "temperature: Celsius",
                      r.price AS "price: PricePerKg", r.species, r.breed, r.ear_tag, r.slaughter_lot, r.slaughtered,
                      r.establishment, r.basis, r.frozen, r.solution AS "solution: Percent", r.supplier_lot,
                      r.best_before, r.allergens, r.nitrite AS "nitrite: Percent", r.nitrate AS "nitrate: Percent",
                      r.answer, r.reason, r.failed, d.happened_at
               FROM received r JOIN delivery d ON d.id = r.delivery JOIN supplier s ON s.id = r.supplier "# + $tail,
            $($arg),*
        )
    };
}

/// The line of the docket that a lot came in on; `None` for a lot that was made here.
pub async fn origin(db: &mut PgConnection, lot: LotId) -> Result<Option<Origin>> {
    Ok(origins!("WHERE r.lot = $1 AND r.struck_by IS NULL", lot.0).fetch_optional(db).await?)
}

/// The origins of several lots, in the order of the book; lots that were made here are left out.
pub async fn origins(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<Origin>> {
    let lots: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let found = origins!("WHERE r.lot = ANY($1) AND r.struck_by IS NULL ORDER BY r.seq", &lots);
    Ok(found.fetch_all(db).await?)
}

/// How strong a cure is, in per cent by weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Strength {
    /// As NaNO2, or as the salt that the pack states.
    pub nitrite: Percent,
    /// As NaNO3, or as the salt that the pack states.
    pub nitrate: Percent,
    pub nitrite_salt: Alkali,
    pub nitrate_salt: Alkali,
}

impl Strength {
    #[allow(clippy::similar_names, reason = "nitrite and nitrate are the trade's own words")]
    fn of(
        nitrite: Option<Percent>,
        nitrate: Option<Percent>,
        salts: (Option<String>, Option<String>),
    ) -> Option<Self> {
        let salt = |text: Option<String>| text.and_then(|text| text.parse().ok()).unwrap_or(Alkali::Sodium);
        let strength = Self {
            nitrite: nitrite.unwrap_or_default(),
            nitrate: nitrate.unwrap_or_default(),
            nitrite_salt: salt(salts.0),
            nitrate_salt: salt(salts.1),
        };
        (strength.nitrite + strength.nitrate > Percent::ZERO).then_some(strength)
    }

    /// What goes in with a weight of it.
    pub fn brings(self) -> Brings {
        let Self { nitrite, nitrate, nitrite_salt, nitrate_salt } = self;
        Brings { nitrite, nitrite_salt, nitrate, nitrate_salt, accelerator: None }
    }
}

/// What is known of an ingredient lot or a casing lot.
#[derive(Debug, Clone)]
pub struct GoodsLot {
    pub supplier_lot: String,
    pub best_before: Option<Date>,
    pub allergens: Vec<String>,
    /// None where it is no cure.
    pub strength: Option<Strength>,
}

struct GoodsRow {
    lot: LotId,
    supplier_lot: String,
    best_before: Option<Date>,
    allergens: Vec<String>,
    nitrite: Option<Percent>,
    nitrate: Option<Percent>,
    nitrite_salt: Option<String>,
    nitrate_salt: Option<String>,
}

/// What is known of each of these lots; those that did not come through the door are left out.
pub async fn goods_lots(db: &mut PgConnection, lots: &[LotId]) -> Result<BTreeMap<LotId, GoodsLot>> {
    let lots: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        GoodsRow,
        r#"SELECT lot AS "lot!: LotId", supplier_lot, best_before, allergens, nitrite AS "nitrite: Percent",
                  nitrate AS "nitrate: Percent", nitrite_salt, nitrate_salt
           FROM received WHERE lot = ANY($1) AND struck_by IS NULL"#,
        &lots
    );
    let known = rows.fetch_all(db).await?.into_iter().map(|row| {
        let GoodsRow {
            lot,
            supplier_lot,
            best_before,
            allergens,
            nitrite,
            nitrate,
            nitrite_salt,
            nitrate_salt,
        } = row;
        let strength = Strength::of(nitrite, nitrate, (nitrite_salt, nitrate_salt));
        (lot, GoodsLot { supplier_lot, best_before, allergens, strength })
    });
    Ok(known.collect())
}

/// How strong the cure of this lot is; `None` for a lot that is no cure.
pub async fn strength(db: &mut PgConnection, lot: LotId) -> Result<Option<Strength>> {
    Ok(goods_lots(db, &[lot]).await?.remove(&lot).and_then(|goods| goods.strength))
}

/// The strength of the last lot of an item that came with one: whether the item is known as a cure.
pub async fn last_strength(db: &mut PgConnection, item: ItemId) -> Result<Option<Strength>> {
    let row = sqlx::query!(
        r#"SELECT nitrite AS "nitrite: Percent", nitrate AS "nitrate: Percent", nitrite_salt, nitrate_salt FROM received
           WHERE item = $1 AND struck_by IS NULL AND coalesce(nitrite, 0) + coalesce(nitrate, 0) > 0
           ORDER BY seq DESC LIMIT 1"#,
        item.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.and_then(|row| Strength::of(row.nitrite, row.nitrate, (row.nitrite_salt, row.nitrate_salt))))
}
