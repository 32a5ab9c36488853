//! Devices that send by themselves, and how they prove it.

use sqlx::{PgConnection, query, query_as};

use crate::book::chain::Hash;
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{LoggerId, PersonId, PlaceId};
use crate::loggers::entry::{LoggerAdmitted, LoggerEnded};
use crate::measure::{ShopZone, UnitSystem};

impl Project for LoggerAdmitted {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO logger (id, name, place, person, seq) VALUES ($1, $2, $3, $4, $5)",
            self.logger.0,
            self.name,
            self.place.id.0,
            at.person.0,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint(
            "logger_name_key",
            "name",
            "Another logger has this name. End it first, or choose another name.",
        )?;
        Ok(())
    }
}

impl Project for LoggerEnded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!("UPDATE logger SET ended_by = $2 WHERE id = $1", self.logger.id.0, at.seq as Seq)
            .execute(&mut *db)
            .await?;
        query!("DELETE FROM logger_secret WHERE logger = $1", self.logger.id.0).execute(db).await?;
        Ok(())
    }
}

/// Keeps the hash of a device's token.
pub async fn keep_secret(db: &mut PgConnection, logger: LoggerId, hash: &Hash) -> Result<()> {
    query!("INSERT INTO logger_secret (token_hash, logger) VALUES ($1, $2)", hash.as_slice(), logger.0)
        .execute(db)
        .await?;
    Ok(())
}

/// A device that sent a token which is known: where it measures, and in whose name it signs.
pub struct Sender {
    pub logger: LoggerId,
    pub name: String,
    pub place: PlaceId,
    pub place_name: String,
    pub person: PersonId,
    pub zone: ShopZone,
    pub system: UnitSystem,
}

/// The device with this token, while it is admitted and the person who admitted it signs here.
pub async fn device_of(db: &mut PgConnection, token: &Hash) -> Result<Option<Sender>> {
    let row = query_as!(
        Sender,
        r#"SELECT g.id AS "logger: LoggerId", g.name, g.place AS "place: PlaceId", p.name AS place_name,
                  g.person AS "person: PersonId", shop.zone AS "zone: ShopZone", shop.system AS "system: UnitSystem"
           FROM logger_secret s JOIN logger g ON g.id = s.logger JOIN place p ON p.id = g.place
           JOIN person w ON w.id = g.person JOIN shop ON true
           WHERE s.token_hash = $1 AND g.ended_by IS NULL AND w.retired_by IS NULL"#,
        token.as_slice()
    );
    Ok(row.fetch_optional(db).await?)
}

/// A device as the page lists it.
pub struct Device {
    pub id: LoggerId,
    pub name: String,
    pub place: PlaceId,
    pub place_name: String,
    pub person: String,
    pub ended: bool,
    /// Until when it has sent.
    pub last_at: Option<time::OffsetDateTime>,
}

/// Every device, those that send first.
pub async fn devices(db: &mut PgConnection) -> Result<Vec<Device>> {
    let rows = query_as!(
        Device,
        r#"SELECT g.id AS "id: LoggerId", g.name, g.place AS "place: PlaceId", p.name AS place_name,
                  w.name AS person, g.ended_by IS NOT NULL AS "ended!",
                  (SELECT max(i.last_at) FROM sample_import i WHERE i.logger = g.id AND i.struck_by IS NULL) AS last_at
           FROM logger g JOIN place p ON p.id = g.place JOIN person w ON w.id = g.person
           ORDER BY g.ended_by IS NOT NULL, lower(g.name), g.seq"#
    );
    Ok(rows.fetch_all(db).await?)
}
