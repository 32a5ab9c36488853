//! What each entry of this area writes into its tables.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query};
use uuid::Uuid;

use crate::book::{Project, Seq, Written};
use crate::checks::entry::{
    Applies, CheckRecorded, DeviationClosed, DeviationCorrected, HoldLifted, LimitWritten, LotHeld,
    ReadingTaken, Value,
};
use crate::error::{OnConstraint, Result};

impl Project for LimitWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let place = if let Applies::Place(place) = &self.applies { Some(place.id.0) } else { None };
        query!(
            "INSERT INTO check_limit (id, name, quantity, applies, place, word, least, most, source, retired, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, quantity = excluded.quantity,
                 applies = excluded.applies, place = excluded.place, word = excluded.word, least = excluded.least,
                 most = excluded.most, source = excluded.source, retired = excluded.retired, seq = excluded.seq",
            self.limit.0,
            self.name,
            self.quantity.word(),
            self.applies.sort(),
            place,
            self.applies.word(),
            self.least.map(Value::decimal),
            self.most.map(Value::decimal),
            self.source,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("check_limit_name_key", "name", "Another limit has this name.")?;
        Ok(())
    }
}

impl Project for ReadingTaken {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let on = self.subject.on();
        query!(
            "INSERT INTO reading (seq, place, lot, batch, quantity, value, instrument, at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            at.seq as Seq,
            on.place(),
            on.lot(),
            on.batch(),
            self.value.quantity().word(),
            self.value.decimal(),
            self.instrument.as_ref().map(|with| with.id.0),
            at.happened_at
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE reading SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for CheckRecorded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        Project::apply(&self.reading, db, at).await?;
        record_verdicts(self, db, at).await?;
        open_deviation(self, db, at).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        Project::unapply(&self.reading, db, at, by).await?;
        query!("UPDATE check_record SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(&mut *db)
            .await?;
        query!("UPDATE deviation SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

/// One row for each limit that the reading was held against.
async fn record_verdicts(check: &CheckRecorded, db: &mut PgConnection, at: &Written) -> Result<()> {
    let against = &check.against;
    let limits: Vec<Uuid> = against.iter().map(|one| one.limit.id.0).collect();
    let names: Vec<String> = against.iter().map(|one| one.limit.name.clone()).collect();
    let least: Vec<Option<Decimal>> = against.iter().map(|one| one.least.map(Value::decimal)).collect();
    let most: Vec<Option<Decimal>> = against.iter().map(|one| one.most.map(Value::decimal)).collect();
    let sources: Vec<String> = against.iter().map(|one| one.source.clone()).collect();
    let met: Vec<bool> = against.iter().map(|one| one.met(check.reading.value)).collect();
    query!(
        "INSERT INTO check_record (seq, n, id, check_limit, limit_name, least, most, source, met)
         SELECT $1, u.n, $2, u.check_limit, u.name, u.least, u.most, u.source, u.met
         FROM unnest($3::uuid[], $4::text[], $5::numeric[], $6::numeric[], $7::text[], $8::boolean[])
              WITH ORDINALITY AS u(check_limit, name, least, most, source, met, n)",
        at.seq as Seq,
        check.check.0,
        &limits,
        &names,
        &least as &[Option<Decimal>],
        &most as &[Option<Decimal>],
        &sources,
        &met
    )
    .execute(db)
    .await?;
    Ok(())
}

async fn open_deviation(check: &CheckRecorded, db: &mut PgConnection, at: &Written) -> Result<()> {
    let Some(opened) = &check.deviation else { return Ok(()) };
    let on = check.reading.subject.on();
    query!(
        "INSERT INTO deviation (id, what, place, lot, batch, opened_at, seq) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        opened.deviation.0,
        opened.what,
        on.place(),
        on.lot(),
        on.batch(),
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
