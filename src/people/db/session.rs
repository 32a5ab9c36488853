//! Sessions, and the devices that remember who has signed in on them.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::OffsetDateTime;

use super::super::throttle::PINS;
use crate::book::chain::Hash;
use crate::error::Result;
use crate::ids::PersonId;

/// Begins a session for the token with this hash.
pub async fn begin_session(
    db: &mut PgConnection,
    session: &Hash,
    person: PersonId,
    now: OffsetDateTime,
) -> Result<()> {
    query!(
        "INSERT INTO session (token_hash, person, began_at, seen_at) VALUES ($1, $2, $3, $3)",
        session.as_slice(),
        person.0,
        now
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Ends one session.
pub async fn end_session(db: &mut PgConnection, session: &Hash) -> Result<()> {
    query!("DELETE FROM session WHERE token_hash = $1", session.as_slice()).execute(db).await?;
    Ok(())
}

/// Ends every session of a person, and makes every device forget them.
pub async fn end_sessions(db: &mut PgConnection, person: PersonId) -> Result<()> {
    query!("DELETE FROM session WHERE person = $1", person.0).execute(&mut *db).await?;
    query!("DELETE FROM device_person WHERE person = $1", person.0).execute(db).await?;
    Ok(())
}

/// Takes away what has lapsed: sessions and sign-ins from before `since`, and devices that remember nobody.
pub async fn clear_old(db: &mut PgConnection, since: OffsetDateTime) -> Result<()> {
    query!("DELETE FROM session WHERE seen_at <= $1", since).execute(&mut *db).await?;
    query!("DELETE FROM device_person WHERE signed_in_at <= $1", since).execute(&mut *db).await?;
    query!(
        "DELETE FROM device d WHERE began_at <= $1
             AND NOT EXISTS (SELECT 1 FROM device_person p WHERE p.device = d.token_hash)",
        since
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Whether the device with this token is known.
pub async fn device_seen(db: &mut PgConnection, device: &Hash) -> Result<bool> {
    Ok(query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM device WHERE token_hash = $1) AS "seen!""#,
        device.as_slice()
    )
    .fetch_one(db)
    .await?)
}

/// After a full sign-in: the device knows the person, and their PIN counts there again.
pub async fn remember_on_device(
    db: &mut PgConnection,
    device: &Hash,
    person: PersonId,
    now: OffsetDateTime,
) -> Result<()> {
    query!(
        "INSERT INTO device (token_hash, began_at) VALUES ($1, $2) ON CONFLICT (token_hash) DO NOTHING",
        device.as_slice(),
        now
    )
    .execute(&mut *db)
    .await?;
    query!(
        "INSERT INTO device_person (device, person, signed_in_at) VALUES ($1, $2, $3)
         ON CONFLICT (device, person) DO UPDATE SET signed_in_at = excluded.signed_in_at, wrong_pins = 0",
        device.as_slice(),
        person.0,
        now
    )
    .execute(db)
    .await?;
    Ok(())
}

/// After signing out there: the person gives their password again before their PIN counts on this device.
pub async fn forget_on_device(db: &mut PgConnection, device: &Hash, person: PersonId) -> Result<()> {
    query!("DELETE FROM device_person WHERE device = $1 AND person = $2", device.as_slice(), person.0)
        .execute(db)
        .await?;
    Ok(())
}

/// Somebody whom a device remembers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnDevice {
    pub person: PersonId,
    pub name: String,
    pub initials: String,
    pub has_pin: bool,
    pub wrong_pins: i16,
}

impl OnDevice {
    /// Whether a PIN may still be tried.
    pub fn locked(&self) -> bool {
        self.wrong_pins >= PINS
    }
}

/// Where somebody stands who has asked for a page: the device, and since when a sign-in counts.
#[derive(Debug, Clone, Copy)]
pub struct Here {
    pub device: Hash,
    pub since: OffsetDateTime,
}

/// The people whom a device remembers and who have not retired, by name.
pub async fn on_device(db: &mut PgConnection, here: Here) -> Result<Vec<OnDevice>> {
    let people = query_as!(
        OnDevice,
        r#"SELECT p.id AS "person: PersonId", p.name, p.initials, c.pin IS NOT NULL AS "has_pin!", d.wrong_pins
           FROM device_person d JOIN person p ON p.id = d.person LEFT JOIN credential c ON c.person = p.id
           WHERE d.device = $1 AND d.signed_in_at > $2 AND p.retired_by IS NULL ORDER BY lower(p.name)"#,
        here.device.as_slice(),
        here.since
    );
    Ok(people.fetch_all(db).await?)
}

/// Counts a try with a PIN before it is looked at, so that tries at the same moment count one by one, and hands out the
/// hash to hold it against. `None`: no more tries here, or nobody to try for.
pub async fn try_pin(db: &mut PgConnection, here: Here, person: PersonId) -> Result<Option<Option<String>>> {
    let row = query!(
        r#"UPDATE device_person d SET wrong_pins = d.wrong_pins + 1
           FROM person p LEFT JOIN credential c ON c.person = p.id
           WHERE d.device = $1 AND d.person = $2 AND d.signed_in_at > $3 AND d.wrong_pins < $4
             AND p.id = d.person AND p.retired_by IS NULL
           RETURNING c.pin"#,
        here.device.as_slice(),
        person.0,
        here.since,
        PINS
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| row.pin))
}

/// The PIN was the right one: the count begins anew.
pub async fn pin_fits(db: &mut PgConnection, device: &Hash, person: PersonId) -> Result<()> {
    query!(
        "UPDATE device_person SET wrong_pins = 0 WHERE device = $1 AND person = $2",
        device.as_slice(),
        person.0
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Keeps how light a person wants their pages.
pub async fn keep_theme(db: &mut PgConnection, person: PersonId, theme: &str) -> Result<()> {
    query!(
        "INSERT INTO preference (person, theme) VALUES ($1, $2)
         ON CONFLICT (person) DO UPDATE SET theme = excluded.theme",
        person.0,
        theme
    )
    .execute(db)
    .await?;
    Ok(())
}
