//! Files that somebody looks through before signing, and how the columns of files like them were read.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use crate::error::Result;
use crate::ids::{PersonId, PlaceId};

/// How long a file waits to be signed.
const WAITS: Duration = Duration::days(2);

/// A file that waits to be signed.
pub struct Draft {
    pub place: PlaceId,
    pub name: String,
    pub body: String,
}

/// Lays a file aside for a person, and clears away those that nobody came back for.
pub async fn lay(
    db: &mut PgConnection,
    id: Uuid,
    person: PersonId,
    draft: &Draft,
    now: OffsetDateTime,
) -> Result<()> {
    query!("DELETE FROM logger_draft WHERE made_at < $1", now - WAITS).execute(&mut *db).await?;
    query!(
        "INSERT INTO logger_draft (id, person, place, name, body, made_at) VALUES ($1, $2, $3, $4, $5, $6)",
        id,
        person.0,
        draft.place.0,
        draft.name,
        draft.body,
        now
    )
    .execute(db)
    .await?;
    Ok(())
}

/// The file that this person laid aside.
pub async fn draft(db: &mut PgConnection, id: Uuid, person: PersonId) -> Result<Option<Draft>> {
    let row = query_as!(
        Draft,
        r#"SELECT place AS "place: PlaceId", name, body FROM logger_draft WHERE id = $1 AND person = $2"#,
        id,
        person.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// The file is signed.
pub async fn forget(db: &mut PgConnection, id: Uuid) -> Result<()> {
    query!("DELETE FROM logger_draft WHERE id = $1", id).execute(db).await?;
    Ok(())
}

/// How the columns of files with this header were read last.
pub async fn columns_of(db: &mut PgConnection, header: &str) -> Result<Option<String>> {
    Ok(query_scalar!("SELECT columns FROM logger_columns WHERE header = $1", header)
        .fetch_optional(db)
        .await?)
}

/// Remembers how the columns of files with this header are read.
pub async fn remember(db: &mut PgConnection, header: &str, columns: &str) -> Result<()> {
    query!(
        "INSERT INTO logger_columns (header, columns) VALUES ($1, $2)
         ON CONFLICT (header) DO UPDATE SET columns = excluded.columns",
        header,
        columns
    )
    .execute(db)
    .await?;
    Ok(())
}
