//! Gathers what is recorded of a batch and holds the criteria of its product's family against it.

use std::collections::BTreeMap;

use sqlx::PgConnection;

use super::db::{self, Limited, Standing};
use super::entry::judge::Ccp;
use super::entry::{Asks, Evidence, FamilyWritten, Stood, judge};
use crate::checks::Value;
use crate::error::Result;
use crate::evidence::Found;
use crate::ids::{BatchId, ReviewId};
use crate::measure::UnitSystem;
use crate::recipes::Stage;
use crate::web::Me;
use crate::{batches, cold, fermenting, parasites};

/// A batch, its family, and how each criterion stands.
pub struct Gathered {
    pub batch: Standing,
    /// The family of its product, and how often that was written. None: it is not released.
    pub family: Option<(FamilyWritten, u32)>,
    pub evidence: Evidence,
    pub stood: Vec<Stood>,
    /// The review that stands.
    pub review: Option<ReviewId>,
}

/// All of it; nothing for a batch that is not there.
pub async fn gather(conn: &mut PgConnection, batch: BatchId, me: &Me) -> Result<Option<Gathered>> {
    let Some(batch) = db::standing(conn, batch).await? else { return Ok(None) };
    let family = db::family_of(conn, batch.product.id).await?;
    let (review, standing) = db::reviewed(conn, batch.batch).await?;
    let ccps = db::ccps(conn, batch.batch).await?;
    let evidence = Evidence {
        given: match &family {
            Some((family, _)) => given(conn, batch.batch, family, me).await?,
            None => BTreeMap::new(),
        },
        readings: db::readings(conn, batch.batch).await?,
        deviations: db::open_on_batch(conn, batch.batch).await?,
        ccps: ccps.into_iter().map(|limited| ccp(limited, me.shop.system)).collect::<Result<_>>()?,
        review,
        pieces: db::pieces(conn, batch.batch).await?,
        ferments: batch.stage == Stage::Fermenting,
    };
    let criteria = family.as_ref().map(|(family, _)| family.criteria.as_slice()).unwrap_or_default();
    let stood = judge(criteria, &evidence);
    Ok(Some(Gathered { batch, family, evidence, stood, review: standing }))
}

/// What other rooms find of the batch, as far as its family asks for it.
async fn given(
    conn: &mut PgConnection,
    batch: BatchId,
    family: &FamilyWritten,
    me: &Me,
) -> Result<BTreeMap<Asks, Found>> {
    let mut all = BTreeMap::new();
    if family.criterion(Asks::Cure).is_some() {
        all.insert(Asks::Cure, batches::cure_found(conn, batch).await?);
    }
    if family.criterion(Asks::Cold).is_some() {
        all.insert(Asks::Cold, cold::cold_found(conn, batch).await?);
    }
    if family.criterion(Asks::Fermentation).is_some() {
        let found = fermenting::found(conn, batch, me.now).await?;
        all.insert(
            Asks::Fermentation,
            found.unwrap_or_else(|| Found::met("its recipe does not ferment", Vec::new())),
        );
    }
    if family.criterion(Asks::Parasites).is_some() {
        all.insert(Asks::Parasites, parasites::found(conn, batch).await?);
    }
    Ok(all)
}

fn ccp(limited: Limited, system: UnitSystem) -> Result<Ccp> {
    let end = |value: Option<rust_decimal::Decimal>| {
        value.map(|value| Value::of(limited.quantity, value)).transpose().map_err(anyhow::Error::from)
    };
    let band = crate::checks::entry::band(end(limited.least)?, end(limited.most)?, system);
    let when = if limited.at_end { "at the end of" } else { "in the stage" };
    let words = format!("{}, {band}, {when} {}", limited.name, limited.stage.word());
    Ok(Ccp { words, checks: limited.checks })
}
