//! What the entries write.

use sqlx::{PgConnection, query};
use uuid::Uuid;

use crate::book::{Project, Seq, Written};
use crate::error::Result;
use crate::measure::Length;
use crate::parasites::entry::{ControlChosen, FreezingRecorded, MethodConfirmed, Stated};

impl Project for ControlChosen {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let states: Vec<String> = self.states.iter().map(|one: &Stated| one.word().to_owned()).collect();
        query!(
            "INSERT INTO parasite_control (product, control, document, reason, particle, states, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7)
             ON CONFLICT (product) DO UPDATE SET control = excluded.control, document = excluded.document,
                 reason = excluded.reason, particle = excluded.particle, states = excluded.states, seq = excluded.seq",
            self.product.id.0,
            self.control,
            self.document,
            self.reason,
            self.particle as Option<Length>,
            &states,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for MethodConfirmed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO parasite_method (method, in_force, reason, seq) VALUES ($1, $2, $3, $4)
             ON CONFLICT (method) DO UPDATE SET in_force = excluded.in_force, reason = excluded.reason,
                 seq = excluded.seq",
            self.method,
            self.in_force,
            self.reason,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for FreezingRecorded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO freezing (seq, freezer, thickness, spaced, begun_at, ended_at) VALUES ($1, $2, $3, $4, $5, $6)",
            at.seq as Seq,
            self.freezer.id.0,
            self.thickness as Length,
            self.spaced,
            self.from,
            self.to
        )
        .execute(&mut *db)
        .await?;
        let lots: Vec<Uuid> = self.lots.iter().map(|lot| lot.id.0).collect();
        query!(
            "INSERT INTO freezing_lot (seq, lot) SELECT $1, u FROM unnest($2::uuid[]) AS u ON CONFLICT DO NOTHING",
            at.seq as Seq,
            &lots
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE freezing SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}
