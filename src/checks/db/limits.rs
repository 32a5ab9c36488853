//! Limits as the shop last wrote them.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query_as, query_scalar};

use crate::book::{Form, Seq};
use crate::checks::entry::{Applies, LimitWritten, Quantity, Value};
use crate::error::Result;
use crate::ids::{LimitId, Named, PlaceId};
use crate::recipes::RecipeKind;

struct Row {
    id: LimitId,
    name: String,
    quantity: Quantity,
    applies: String,
    place: Option<PlaceId>,
    place_name: Option<String>,
    word: String,
    least: Option<Decimal>,
    most: Option<Decimal>,
    source: String,
    only: Vec<RecipeKind>,
    under: Option<Seq>,
    retired: bool,
}

impl Row {
    fn read(self) -> Result<LimitWritten> {
        let value = |end: Option<Decimal>| end.map(|value| Value::of(self.quantity, value)).transpose();
        let (least, most) =
            (value(self.least).map_err(anyhow::Error::from)?, value(self.most).map_err(anyhow::Error::from)?);
        let applies = applies(&self.applies, self.place, self.place_name, &self.word)
            .ok_or_else(|| anyhow::anyhow!("limit {} holds for nothing that is known", self.id))?;
        let Self { id, name, quantity, source, only, under, retired, .. } = self;
        Ok(LimitWritten { limit: id, name, quantity, applies, least, most, source, only, under, retired })
    }
}

fn applies(sort: &str, place: Option<PlaceId>, name: Option<String>, word: &str) -> Option<Applies> {
    Some(match sort {
        "place" => Applies::Place(Named::new(place?, name?)),
        "kind" => Applies::Kind(word.parse().ok()?),
        "form" => Applies::Form(word.parse::<Form>().ok()?),
        "stage" => Applies::Stage(word.parse().ok()?),
        _ => Applies::End(word.parse().ok()?),
    })
}

/// `query_as!` takes its text literally, so the columns stand here once.
macro_rules! rows {
    ($tail:literal $(, $arg:expr)*) => {
        query_as!(
            Row,
            r#"SELECT c.id AS "id: LimitId", c.name, c.quantity AS "quantity: Quantity", c.applies,
                      c.place AS "place: PlaceId", p.name AS "place_name?", c.word, c.least, c.most, c.source,
                      c.only_kinds AS "only: Vec<RecipeKind>", c.under AS "under: Seq", c.retired
               FROM check_limit c LEFT JOIN place p ON p.id = c.place "# + $tail
            $(, $arg)*
        )
    };
}

/// All limits, those in force first.
pub async fn limits(db: &mut PgConnection) -> Result<Vec<LimitWritten>> {
    rows!("ORDER BY c.retired, c.applies DESC, lower(c.name)")
        .fetch_all(db)
        .await?
        .into_iter()
        .map(Row::read)
        .collect()
}

/// One limit.
pub async fn limit(db: &mut PgConnection, id: LimitId) -> Result<Option<LimitWritten>> {
    rows!("WHERE c.id = $1", id.0).fetch_optional(db).await?.map(Row::read).transpose()
}

/// Whether the shop has ever written one.
pub async fn any_limit(db: &mut PgConnection) -> Result<bool> {
    Ok(query_scalar!(r#"SELECT EXISTS (SELECT 1 FROM check_limit) AS "any!""#).fetch_one(db).await?)
}
