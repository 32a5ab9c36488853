//! SQL of people, their secrets and their sessions.

use sqlx::{PgConnection, query};
use time::OffsetDateTime;

use super::entry::{PersonAdded, ShopFounded};
use crate::book::chain::Hash;
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::PersonId;
use crate::rights::Role;

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

impl Project for PersonAdded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO person (id, name, sign_in, initials, roles, seq) VALUES ($1, $2, $3, $4, $5, $6)",
            self.person.0,
            self.name,
            self.sign_in,
            self.initials.to_string(),
            &self.roles.iter().map(|role| role.word().to_owned()).collect::<Vec<_>>(),
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraints(&[
            ("person_sign_in_key", "sign_in", "Somebody else signs in with this name."),
            ("person_initials_key", "initials", "Somebody else signs with these initials."),
        ])?;
        Ok(())
    }
}

/// Somebody who may try to sign in, and the hash of their password.
pub struct Known {
    pub person: PersonId,
    pub password: String,
}

/// Who signs in with this name, unless retired.
pub async fn known(db: &mut PgConnection, sign_in: &str) -> Result<Option<Known>> {
    let row = query!(
        r#"SELECT p.id AS "person: PersonId", c.password FROM person p JOIN credential c ON c.person = p.id
           WHERE p.sign_in = $1 AND p.retired_by IS NULL"#,
        sign_in
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| Known { person: row.person, password: row.password }))
}

/// Keeps the hash of a password.
pub async fn keep_password(db: &mut PgConnection, person: PersonId, hash: &str) -> Result<()> {
    query!(
        "INSERT INTO credential (person, password) VALUES ($1, $2)
         ON CONFLICT (person) DO UPDATE SET password = excluded.password",
        person.0,
        hash
    )
    .execute(db)
    .await?;
    Ok(())
}

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

/// The roles of a person who has not retired.
pub async fn roles(db: &mut PgConnection, person: PersonId) -> Result<Option<Vec<Role>>> {
    let row = query!(
        r#"SELECT roles AS "roles: Vec<Role>" FROM person WHERE id = $1 AND retired_by IS NULL"#,
        person.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| row.roles))
}
