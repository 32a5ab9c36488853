//! Hashes of passwords and PINs. No evidence rests on them.

use sqlx::{PgConnection, query, query_scalar};

use crate::error::Result;
use crate::ids::PersonId;

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

/// The hash of a person's password, and the name that they sign in with.
pub async fn password_of(db: &mut PgConnection, person: PersonId) -> Result<Option<(String, String)>> {
    let row = query!(
        "SELECT p.sign_in, c.password FROM person p JOIN credential c ON c.person = p.id WHERE p.id = $1",
        person.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| (row.sign_in, row.password)))
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

/// Somebody else chose a new password for this person: every sign-in of theirs ends, and the wait for wrong tries too.
pub async fn new_password(db: &mut PgConnection, person: PersonId, hash: &str) -> Result<()> {
    keep_password(db, person, hash).await?;
    super::end_sessions(db, person).await?;
    let name =
        query_scalar!("SELECT sign_in FROM person WHERE id = $1", person.0).fetch_one(&mut *db).await?;
    super::forget_name(db, &name).await
}

/// Lays one hash under everyone's sign-in, and ends every session.
pub async fn give_everyone(db: &mut PgConnection, hash: &str) -> Result<()> {
    query!("UPDATE credential SET password = $1", hash).execute(&mut *db).await?;
    query!("DELETE FROM session").execute(&mut *db).await?;
    query!("DELETE FROM device_person").execute(db).await?;
    Ok(())
}

/// Keeps the hash of a PIN. Nobody has a PIN without a password.
pub async fn keep_pin(db: &mut PgConnection, person: PersonId, hash: &str) -> Result<bool> {
    let kept = query_scalar!(
        r#"UPDATE credential SET pin = $2 WHERE person = $1 RETURNING true AS "kept!""#,
        person.0,
        hash
    );
    Ok(kept.fetch_optional(db).await?.is_some())
}

/// Nobody can prove to be this person from here on.
pub async fn forget_secrets(db: &mut PgConnection, person: PersonId) -> Result<()> {
    query!("DELETE FROM credential WHERE person = $1", person.0).execute(db).await?;
    Ok(())
}
