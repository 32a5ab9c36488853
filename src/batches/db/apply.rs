//! What the entries of a batch write.

use sqlx::{PgConnection, query};
use time::OffsetDateTime;
use uuid::Uuid;

use super::rests_on;
use crate::batches::entry::{
    BatchBegun, BatchStaged, CureApplied, IngredientWeighed, MeatTaken, MixStuffed, MuscleTaken,
    PiecesReleased,
};
use crate::book::{Project, Seq, Written};
use crate::deviations::{self, On};
use crate::error::Result;
use crate::ids::{BatchId, ItemId, LotId};
use crate::measure::{ExactGrams, Grams, Percent};
use crate::standards::limits::Alkali;

impl Project for BatchBegun {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO batch (id, code, recipe, version, product, mix, meat_target, begun_at, stage, stage_at,
                                stage_place, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, 'making', $8, $9, $10)",
            self.batch.0,
            self.code.to_string(),
            self.recipe.id.0,
            i32::from(self.version),
            self.product.id.0,
            self.mix.0,
            self.meat_target as Grams,
            at.happened_at,
            self.place.id.0,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE batch SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

/// Meat of a batch; `piece` where it is one muscle.
async fn insert_meat(
    db: &mut PgConnection,
    at: &Written,
    batch: BatchId,
    lot: LotId,
    line: Option<u16>,
    weight: (Grams, Option<ExactGrams>),
    piece: Option<LotId>,
) -> Result<()> {
    query!(
        "INSERT INTO batch_meat (seq, batch, lot, line, grams, exact, piece) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        at.seq as Seq,
        batch.0,
        lot.0,
        small(line)?,
        weight.0 as Grams,
        weight.1 as Option<ExactGrams>,
        piece.map(|piece| piece.0)
    )
    .execute(db)
    .await?;
    Ok(())
}

async fn strike_meat(db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
    query!("UPDATE batch_meat SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
        .execute(db)
        .await?;
    Ok(())
}

fn small(n: Option<u16>) -> Result<Option<i16>> {
    Ok(n.map(i16::try_from).transpose().map_err(anyhow::Error::from)?)
}

impl Project for MeatTaken {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        insert_meat(db, at, self.batch, self.lot.id, self.line, (self.weight, self.exact), None).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        strike_meat(db, at, by).await
    }
}

/// What the rows of `piece` that one entry writes have in common.
struct PiecesOf {
    batch: BatchId,
    product: ItemId,
    target_loss: Option<Percent>,
    weigh_every: Option<u16>,
    casing: Option<LotId>,
    diameter_mm: Option<u16>,
}

async fn insert_pieces(
    db: &mut PgConnection,
    at: &Written,
    of: &PiecesOf,
    lots: &[Uuid],
    grams: &[rust_decimal::Decimal],
) -> Result<()> {
    query!(
        "INSERT INTO piece (lot, batch, product, green, green_at, target_loss, weigh_every, casing, diameter_mm, seq)
         SELECT u.lot, $3, $4, u.grams, $5, $6, $7, $8, $9, $10
         FROM unnest($1::uuid[], $2::numeric[]) AS u(lot, grams)",
        lots,
        grams,
        of.batch.0,
        of.product.0,
        at.happened_at,
        of.target_loss as Option<Percent>,
        small(of.weigh_every)?,
        of.casing.map(|casing| casing.0),
        small(of.diameter_mm)?,
        at.seq as Seq
    )
    .execute(db)
    .await?;
    Ok(())
}

async fn strike_pieces(db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
    query!("UPDATE piece SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq).execute(db).await?;
    Ok(())
}

impl Project for MuscleTaken {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        insert_meat(db, at, self.batch, self.lot.id, self.line, (self.weight, self.exact), Some(self.piece))
            .await?;
        let of = PiecesOf {
            batch: self.batch,
            product: self.product.id,
            target_loss: self.target_loss,
            weigh_every: self.weigh_every,
            casing: None,
            diameter_mm: None,
        };
        insert_pieces(db, at, &of, &[self.piece.0], &[self.weight.decimal()]).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        strike_meat(db, at, by).await?;
        strike_pieces(db, at, by).await
    }
}

impl Project for IngredientWeighed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO batch_ingredient (seq, batch, line, item, lot, target, grams, verdict, reason, nitrite, nitrate,
                                           exact, nitrite_salt, nitrate_salt)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)",
            at.seq as Seq,
            self.batch.0,
            i16::try_from(self.line).map_err(anyhow::Error::from)?,
            self.item.id.0,
            self.lot.as_ref().map(|lot| lot.id.0),
            self.target as Grams,
            self.weight as Grams,
            self.verdict.word(),
            self.reason,
            self.nitrite as Option<Percent>,
            self.nitrate as Option<Percent>,
            self.exact as Option<ExactGrams>,
            self.nitrite_salt.map(Alkali::word),
            self.nitrate_salt.map(Alkali::word)
        )
        .execute(&mut *db)
        .await?;
        match &self.deviation {
            Some(opened) => deviations::open(db, opened, On::Batch(self.batch), at).await,
            None => Ok(()),
        }
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE batch_ingredient SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(&mut *db)
            .await?;
        if self.deviation.is_some() {
            deviations::unopen(db, at, by).await?;
        }
        Ok(())
    }
}

impl Project for CureApplied {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO batch_applied (seq, batch, grams, left_over, reason) VALUES ($1, $2, $3, $4, $5)",
            at.seq as Seq,
            self.batch.0,
            self.total() as Grams,
            self.left_over as Grams,
            self.reason
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE batch_applied SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for MixStuffed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let casing = self.casing.as_ref().map(|casing| casing.lot.id);
        query!(
            "INSERT INTO batch_stuffed (seq, batch, pieces, grams, casing, casing_grams, diameter_mm, loss, found, reason)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
            at.seq as Seq,
            self.batch.0,
            i32::try_from(self.pieces.len()).map_err(anyhow::Error::from)?,
            self.total() as Grams,
            casing.map(|casing| casing.0),
            self.casing_weight() as Grams,
            small(self.diameter_mm)?,
            self.loss as Grams,
            self.found as Grams,
            self.reason
        )
        .execute(&mut *db)
        .await?;
        let of = PiecesOf {
            batch: self.batch,
            product: self.product.id,
            target_loss: self.target_loss,
            weigh_every: self.weigh_every,
            casing,
            diameter_mm: self.diameter_mm,
        };
        let lots: Vec<_> = self.pieces.iter().map(|piece| piece.lot.0).collect();
        let grams: Vec<_> = self.pieces.iter().map(|piece| piece.weight.decimal()).collect();
        insert_pieces(db, at, &of, &lots, &grams).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE batch_stuffed SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(&mut *db)
            .await?;
        strike_pieces(db, at, by).await
    }
}

async fn insert_stage(
    db: &mut PgConnection,
    seq: Seq,
    batch: BatchId,
    stage: &str,
    place: Option<Uuid>,
    at: OffsetDateTime,
) -> Result<()> {
    query!(
        "INSERT INTO batch_stage (seq, batch, stage, place, at) VALUES ($1, $2, $3, $4, $5)",
        seq as Seq,
        batch.0,
        stage,
        place,
        at
    )
    .execute(&mut *db)
    .await?;
    stand_by_the_last_stage(db, batch).await
}

async fn strike_stage(db: &mut PgConnection, at: &Written, by: Seq, batch: BatchId) -> Result<()> {
    query!("UPDATE batch_stage SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
        .execute(&mut *db)
        .await?;
    stand_by_the_last_stage(db, batch).await
}

/// The batch stands where the last stage that is not struck says; without one it is still in the making, where it began.
async fn stand_by_the_last_stage(db: &mut PgConnection, batch: BatchId) -> Result<()> {
    query!(
        "UPDATE batch b SET (stage, stage_at, stage_place) = (
             SELECT coalesce(s.stage, 'making'), coalesce(s.at, b.begun_at),
                    coalesce(s.place, (SELECT p.place FROM batch_stage p WHERE p.batch = b.id AND p.struck_by IS NULL
                                       AND p.place IS NOT NULL ORDER BY p.seq DESC LIMIT 1),
                             (SELECT p.place FROM put p WHERE p.lot = b.mix AND p.seq = b.seq))
             FROM (SELECT 1) one
             LEFT JOIN LATERAL (SELECT n.stage, n.at, n.place FROM batch_stage n
                                WHERE n.batch = b.id AND n.struck_by IS NULL ORDER BY n.seq DESC LIMIT 1) s ON true)
         WHERE b.id = $1",
        batch.0
    )
    .execute(db)
    .await?;
    Ok(())
}

impl Project for BatchStaged {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        insert_stage(db, at.seq, self.batch, self.stage.word(), Some(self.place.id.0), at.happened_at).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        strike_stage(db, at, by, self.batch).await
    }
}

impl Project for PiecesReleased {
    /// Once nothing of the batch waits any more, the batch as a whole is released.
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        rests_on::insert(db, self, at).await?;
        let lots: Vec<_> = self.pieces.iter().map(|piece| piece.lot.id.0).collect();
        query!("UPDATE piece SET released_by = $2 WHERE lot = ANY($1)", &lots, at.seq as Seq)
            .execute(&mut *db)
            .await?;
        let waits = query!(
            r#"SELECT EXISTS (SELECT 1 FROM piece p JOIN lot l ON l.id = p.lot
                              WHERE p.batch = $1 AND p.struck_by IS NULL AND p.released_by IS NULL AND l.grams > 0)
                   AS "waits!""#,
            self.batch.0
        )
        .fetch_one(&mut *db)
        .await?
        .waits;
        if waits {
            return Ok(());
        }
        insert_stage(db, at.seq, self.batch, "released", None, at.happened_at).await
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE piece SET released_by = NULL WHERE released_by = $1", at.seq as Seq)
            .execute(&mut *db)
            .await?;
        strike_stage(db, at, by, self.batch).await
    }
}
