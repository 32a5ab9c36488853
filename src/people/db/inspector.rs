//! The sign-in of an inspector: until when it is open.

use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;

use super::super::entry::{InspectorAdmitted, InspectorVisited};
use crate::book::{Project, Seq, Written};
use crate::error::Result;
use crate::ids::PersonId;
use crate::measure::ShopZone;

impl Project for InspectorAdmitted {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "UPDATE person SET admitted_until = $2, seq = $3 WHERE id = $1",
            self.person.id.0,
            self.until,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// It says that they came, and changes nothing.
impl Project for InspectorVisited {}

/// Somebody who reads and nothing else, and until when they may.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reader {
    pub name: String,
    pub until: Option<OffsetDateTime>,
    pub zone: ShopZone,
}

/// The person, where their only role is the inspector's.
pub async fn reader(db: &mut PgConnection, id: PersonId) -> Result<Option<Reader>> {
    let reader = query_as!(
        Reader,
        r#"SELECT p.name, p.admitted_until AS until, shop.zone AS "zone: ShopZone"
           FROM person p JOIN shop ON true WHERE p.id = $1 AND p.roles = ARRAY['inspector']"#,
        id.0
    );
    Ok(reader.fetch_optional(db).await?)
}
