//! What each entry of this area writes into its tables.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query};
use uuid::Uuid;

use crate::book::{Project, Seq, Written};
use crate::checks::entry::{Applies, CheckRecorded, LimitWritten, ReadingTaken, Value};
use crate::deviations;
use crate::error::{OnConstraint, Result};

impl Project for LimitWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let only: Vec<String> = self.only.iter().map(|kind| kind.word().to_owned()).collect();
        let place = if let Applies::Place(place) = &self.applies { Some(place.id.0) } else { None };
        query!(
            "INSERT INTO check_limit (id, name, quantity, applies, place, word, least, most, source, retired, seq,
                                      only_kinds, under)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, quantity = excluded.quantity,
                 applies = excluded.applies, place = excluded.place, word = excluded.word, least = excluded.least,
                 most = excluded.most, source = excluded.source, retired = excluded.retired, seq = excluded.seq,
                 only_kinds = excluded.only_kinds, under = excluded.under",
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
            at.seq as Seq,
            &only,
            self.under as Option<Seq>
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
        match &self.deviation {
            Some(opened) => deviations::open(db, opened, self.reading.subject.on(), at).await,
            None => Ok(()),
        }
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        Project::unapply(&self.reading, db, at, by).await?;
        query!("UPDATE check_record SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(&mut *db)
            .await?;
        deviations::unopen(db, at, by).await
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
