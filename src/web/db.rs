//! Who is signed in, and the shop: asked once a request.

use std::sync::Arc;

use sqlx::{PgConnection, query, query_scalar};
use time::{Duration, OffsetDateTime};

use super::me::{Me, Person};
use super::shop::Shop;
use crate::book::chain::Hash;
use crate::error::Result;
use crate::ids::PersonId;
use crate::measure::{Currency, Grams, ShopZone, UnitSystem};
use crate::rights::Role;

/// A session is noted as used at most this often, so that reading pages writes next to nothing.
const NOTED_EVERY: Duration = Duration::minutes(10);

/// The person of a session, unless it has lapsed, the person is retired, or an inspector's days are over.
pub async fn signed_in(
    db: &mut PgConnection,
    session: &Hash,
    now: OffsetDateTime,
    days: u16,
) -> Result<Option<Me>> {
    let row = query!(
        r#"SELECT p.id AS "person: PersonId", p.name, p.initials, p.roles AS "roles: Vec<Role>",
                  s.seen_at, coalesce(f.theme, '') AS "theme!",
                  shop.name AS shop_name, shop.address, shop.number, shop.system AS "system: UnitSystem",
                  shop.zone AS "zone: ShopZone", shop.currency AS "currency: Currency",
                  shop.small_division AS "small_division: Grams", shop.large_division AS "large_division: Grams"
           FROM session s
           JOIN person p ON p.id = s.person
           JOIN shop ON true
           LEFT JOIN preference f ON f.person = p.id
           WHERE s.token_hash = $1 AND s.seen_at > $2 AND p.retired_by IS NULL
             AND (p.roles <> ARRAY['inspector'] OR p.admitted_until IS NULL OR p.admitted_until > $3)"#,
        session.as_slice(),
        now - Duration::days(i64::from(days)),
        now
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(row) = row else { return Ok(None) };
    if now - row.seen_at > NOTED_EVERY {
        query!("UPDATE session SET seen_at = $2 WHERE token_hash = $1", session.as_slice(), now)
            .execute(db)
            .await?;
    }
    let shop = Shop {
        name: row.shop_name,
        address: row.address,
        number: row.number,
        system: row.system,
        zone: row.zone,
        currency: row.currency,
        small_division: row.small_division,
        large_division: row.large_division,
    };
    let theme = match row.theme.as_str() {
        "light" => "light",
        "dark" => "dark",
        _ => "",
    };
    let person = Person { id: row.person, name: row.name, initials: row.initials, roles: row.roles };
    Ok(Some(Me { person, shop: Arc::new(shop), session: *session, theme, now }))
}

/// Whether the book has its shop yet.
pub async fn founded(db: &mut PgConnection) -> Result<bool> {
    Ok(query_scalar!(r#"SELECT EXISTS (SELECT 1 FROM shop) AS "founded!""#).fetch_one(db).await?)
}
