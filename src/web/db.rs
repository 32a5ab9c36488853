//! Who is signed in, and the shop: asked once a request.

use std::sync::Arc;

use sqlx::{PgConnection, query, query_as, query_scalar};
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

/// A person and the shop.
struct Row {
    person: PersonId,
    name: String,
    initials: String,
    roles: Vec<Role>,
    seen_at: Option<OffsetDateTime>,
    theme: String,
    shop_name: String,
    address: String,
    number: String,
    system: UnitSystem,
    zone: ShopZone,
    currency: Currency,
    small_division: Grams,
    large_division: Grams,
}

impl Row {
    fn me(self, session: Hash, now: OffsetDateTime) -> Me {
        let theme = match self.theme.as_str() {
            "light" => "light",
            "dark" => "dark",
            _ => "",
        };
        let shop = Shop {
            name: self.shop_name,
            address: self.address,
            number: self.number,
            system: self.system,
            zone: self.zone,
            currency: self.currency,
            small_division: self.small_division,
            large_division: self.large_division,
        };
        let person = Person { id: self.person, name: self.name, initials: self.initials, roles: self.roles };
        Me { person, shop: Arc::new(shop), session, theme, now }
    }
}

/// `query_as!` takes its text literally, so what both readings share stands here once.
macro_rules! people {
    ($session:literal, $from:literal $(, $arg:expr)*) => {
        query_as!(
            Row,
            r#"SELECT p.id AS "person: PersonId", p.name, p.initials, p.roles AS "roles: Vec<Role>",
                      shop.name AS shop_name, shop.address, shop.number, shop.system AS "system: UnitSystem",
                      shop.zone AS "zone: ShopZone", shop.currency AS "currency: Currency",
                      shop.small_division AS "small_division: Grams", shop.large_division AS "large_division: Grams", "#
                + $session + " FROM person p JOIN shop ON true " + $from + " AND p.retired_by IS NULL"
            $(, $arg)*
        )
    };
}

/// The person of a session, unless it has lapsed, the person is retired, or an inspector's days are over.
pub async fn signed_in(
    db: &mut PgConnection,
    session: &Hash,
    now: OffsetDateTime,
    days: u16,
) -> Result<Option<Me>> {
    let row = people!(
        r#"s.seen_at AS "seen_at?", coalesce(f.theme, '') AS "theme!""#,
        "JOIN session s ON s.person = p.id LEFT JOIN preference f ON f.person = p.id
         WHERE s.token_hash = $1 AND s.seen_at > $2
            AND (p.roles <> ARRAY['inspector'] OR p.admitted_until IS NULL OR p.admitted_until > $3)",
        session.as_slice(),
        now - Duration::days(i64::from(days)),
        now
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(row) = row else { return Ok(None) };
    if row.seen_at.is_none_or(|seen| now - seen > NOTED_EVERY) {
        query!("UPDATE session SET seen_at = $2 WHERE token_hash = $1", session.as_slice(), now)
            .execute(db)
            .await?;
    }
    Ok(Some(row.me(*session, now)))
}

/// The person in whose name a device sends: nobody is signed in, and what follows from its samples is signed by the one who
/// admitted it.
pub async fn sends_for(db: &mut PgConnection, person: PersonId, now: OffsetDateTime) -> Result<Option<Me>> {
    let row = people!(r#"NULL::timestamptz AS "seen_at?", '' AS "theme!""#, "WHERE p.id = $1", person.0);
    Ok(row.fetch_optional(db).await?.map(|row| row.me(Hash::default(), now)))
}

/// Whether the book has its shop yet.
pub async fn founded(db: &mut PgConnection) -> Result<bool> {
    Ok(query_scalar!(r#"SELECT EXISTS (SELECT 1 FROM shop) AS "founded!""#).fetch_one(db).await?)
}
