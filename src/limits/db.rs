//! SQL of the limits.

use sqlx::{PgConnection, query};
use time::{Date, OffsetDateTime};

use super::entry::{CuringLimitSwitched, CuringLimitWritten, LimitsAdopted};
use super::held::{Held, Own};
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::CuringLimitId;
use crate::measure::Ppm;
use crate::standards::limits::{self, Jurisdiction, Limit, Product, Way, shipped};

impl Project for LimitsAdopted {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO limits_adopted (seq, jurisdiction, at) VALUES ($1, $2, $3)",
            at.seq as Seq,
            self.jurisdiction.word(),
            at.happened_at
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for CuringLimitSwitched {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO curing_limit_switch (key, is_on, document, reason, at, seq) VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (key) DO UPDATE SET is_on = excluded.is_on, document = excluded.document,
                 reason = excluded.reason, at = excluded.at, seq = excluded.seq",
            self.key,
            self.on,
            self.document,
            self.reason,
            at.happened_at,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for CuringLimitWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO curing_limit (id, name, substance, way, product, least, most, base, stated, reason, document,
                                       begins, ends, instead_of, retired, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, substance = excluded.substance, way = excluded.way,
                 product = excluded.product, least = excluded.least, most = excluded.most, base = excluded.base,
                 stated = excluded.stated, reason = excluded.reason, document = excluded.document,
                 begins = excluded.begins, ends = excluded.ends, instead_of = excluded.instead_of,
                 retired = excluded.retired, seq = excluded.seq",
            self.limit.0,
            self.name,
            self.substance.word(),
            self.way.map(Way::word),
            self.product.map(Product::word),
            self.least as Option<Ppm>,
            self.most as Option<Ppm>,
            self.base.word(),
            self.stated.word(),
            self.reason,
            self.document,
            self.from,
            self.until,
            &self.instead_of,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("curing_limit_name_key", "name", "Another limit of the shop has this name.")?;
        Ok(())
    }
}

/// The limits that hold on a day.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct InForce {
    /// Whose the shop holds itself to; none as long as it chose none.
    pub jurisdiction: Option<Jurisdiction>,
    pub held: Vec<Held>,
}

/// The limits in force on a day, of the set that the shop had adopted at `at`. A batch that was begun before any was adopted
/// is held to the first that was.
pub async fn in_force(db: &mut PgConnection, day: Date, at: OffsetDateTime) -> Result<InForce> {
    let adopted = adopted(db, at).await?;
    let on: Vec<Switch> = switches(db).await?.into_iter().filter(|one| one.on).collect();
    let mut held = Vec::new();
    if let Some(jurisdiction) = adopted {
        let set = shipped(jurisdiction).map_err(anyhow::Error::from)?;
        let rows = limits::in_force(&set.limits, day, |key| on.iter().any(|one| one.key == key));
        held.extend(rows.cloned().map(|limit| {
            let by = on.iter().find(|one| one.key == limit.key).map_or("", |one| one.document.as_str());
            Held { limit: limit.confirmed(by), own: None }
        }));
    }
    let own = own(db).await?.into_iter().filter(|own| !own.retired);
    let own = own.map(|own| Held {
        limit: own.as_limit(),
        own: Some(Own {
            id: own.limit,
            reason: own.reason,
            document: own.document,
            instead_of: own.instead_of,
        }),
    });
    held.extend(own.filter(|held| held.limit.holds_on(day)));
    Ok(InForce { jurisdiction: adopted, held })
}

/// Whose limits the shop had adopted at a moment; the first that it adopted, where that was later.
pub async fn adopted(db: &mut PgConnection, at: OffsetDateTime) -> Result<Option<Jurisdiction>> {
    let row = query!(
        "SELECT jurisdiction FROM limits_adopted
         ORDER BY (at <= $1) DESC, CASE WHEN at <= $1 THEN -seq ELSE seq END LIMIT 1",
        at
    )
    .fetch_optional(db)
    .await?;
    Ok(row.and_then(|row| row.jurisdiction.parse().ok()))
}

/// The latest word on a row that waits for the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Switch {
    pub key: String,
    pub on: bool,
    pub document: String,
    pub reason: String,
    pub at: OffsetDateTime,
}

pub async fn switches(db: &mut PgConnection) -> Result<Vec<Switch>> {
    let rows = query!("SELECT key, is_on, document, reason, at FROM curing_limit_switch ORDER BY key");
    let rows = rows.fetch_all(db).await?.into_iter().map(|row| Switch {
        key: row.key,
        on: row.is_on,
        document: row.document,
        reason: row.reason,
        at: row.at,
    });
    Ok(rows.collect())
}

/// The shop's own limits, those laid aside too, by name.
pub async fn own(db: &mut PgConnection) -> Result<Vec<CuringLimitWritten>> {
    let rows = query!(
        r#"SELECT id AS "id: CuringLimitId", name, substance, way, product, least AS "least: Ppm", most AS "most: Ppm",
                  base, stated, reason, document, begins, ends, instead_of, retired
           FROM curing_limit ORDER BY retired, lower(name)"#
    );
    let unknown = |word: &str| anyhow::anyhow!("a limit of the shop's own says {word}");
    let mut all = Vec::new();
    for row in rows.fetch_all(db).await? {
        let way =
            row.way.as_deref().map(|word| word.parse::<Way>().map_err(|()| unknown(word))).transpose()?;
        let product = row
            .product
            .as_deref()
            .map(|word| word.parse::<Product>().map_err(|()| unknown(word)))
            .transpose()?;
        all.push(CuringLimitWritten {
            limit: row.id,
            name: row.name,
            substance: row.substance.parse().map_err(|()| unknown(&row.substance))?,
            way,
            product,
            least: row.least,
            most: row.most,
            base: row.base.parse().map_err(|()| unknown(&row.base))?,
            stated: row.stated.parse().map_err(|()| unknown(&row.stated))?,
            reason: row.reason,
            document: row.document,
            from: row.begins,
            until: row.ends,
            instead_of: row.instead_of,
            retired: row.retired,
        });
    }
    Ok(all)
}

/// The rows of the adopted set that are in force now, without the shop's own: what a looser one is held against.
pub async fn adopted_rows(db: &mut PgConnection, day: Date, at: OffsetDateTime) -> Result<Vec<Limit>> {
    let held = in_force(db, day, at).await?.held;
    Ok(held.into_iter().filter(|held| held.own.is_none()).map(|held| held.limit).collect())
}
