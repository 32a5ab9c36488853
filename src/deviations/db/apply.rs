//! What each entry of this area, and each that opens a deviation, writes into its tables.

use sqlx::{PgConnection, query};
use uuid::Uuid;

use crate::book::{Project, Seq, Written};
use crate::deviations::entry::{
    DeviationClosed, DeviationCorrected, FoundOn, HoldLifted, LotHeld, On, Opened,
};
use crate::error::Result;

/// The rows of a deviation that an entry opens. The holds on its lots are the entry's own effects
/// ([`Opened::speak`]).
pub async fn open(
    db: &mut PgConnection,
    opened: &Opened,
    on: impl Into<FoundOn>,
    at: &Written,
) -> Result<()> {
    let on = on.into();
    let thing = on.thing();
    query!(
        "INSERT INTO deviation (id, what, place, lot, batch, instrument, opened_at, seq)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        opened.deviation.0,
        opened.what,
        thing.and_then(On::place),
        thing.and_then(On::lot),
        thing.and_then(On::batch),
        on.instrument(),
        at.happened_at,
        at.seq as Seq
    )
    .execute(&mut *db)
    .await?;
    let lots: Vec<Uuid> = opened.lots.iter().map(|lot| lot.id.0).collect();
    query!(
        "INSERT INTO deviation_lot (deviation, lot, seq) SELECT $1, u.lot, $3 FROM unnest($2::uuid[]) AS u(lot)",
        opened.deviation.0,
        &lots,
        at.seq as Seq
    )
    .execute(db)
    .await?;
    Ok(())
}

/// The entry that opened a deviation is struck.
pub async fn unopen(db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
    query!("UPDATE deviation SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
        .execute(db)
        .await?;
    Ok(())
}

impl Project for DeviationCorrected {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO deviation_action (seq, deviation, cause, control, prevent, product)
             VALUES ($1, $2, $3, $4, $5, $6)",
            at.seq as Seq,
            self.deviation.0,
            self.parts.cause,
            self.parts.control,
            self.parts.prevent,
            self.parts.product
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE deviation_action SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for DeviationClosed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!("UPDATE deviation SET closed_by = $2 WHERE id = $1", self.deviation.0, at.seq as Seq)
            .execute(&mut *db)
            .await?;
        let lots: Vec<Uuid> = self.lots.iter().map(|decided| decided.lot.id.0).collect();
        let words: Vec<String> = self.lots.iter().map(|decided| decided.decision.word().to_owned()).collect();
        query!(
            "UPDATE deviation_lot SET decision = u.decision, decided_by = $4
             FROM unnest($2::uuid[], $3::text[]) AS u(lot, decision)
             WHERE deviation = $1 AND deviation_lot.lot = u.lot",
            self.deviation.0,
            &lots,
            &words,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, _by: Seq) -> Result<()> {
        query!("UPDATE deviation SET closed_by = NULL WHERE closed_by = $1", at.seq as Seq)
            .execute(&mut *db)
            .await?;
        query!(
            "UPDATE deviation_lot SET decision = NULL, decided_by = NULL WHERE decided_by = $1",
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// The hold itself is the book's.
impl Project for LotHeld {}

/// The hold itself is the book's.
impl Project for HoldLifted {}
