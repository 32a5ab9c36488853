//! The projections of the block's entries.

use sqlx::{PgConnection, query};

use super::super::entry::{BreakdownClosed, BreakdownOpened, CutListWritten, CutWeighed, SourceReweighed};
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::measure::{Grams, Percent};

impl Project for CutListWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let sources: Vec<String> = self.sources.iter().map(|form| form.word().to_owned()).collect();
        query!(
            "INSERT INTO cut_list (id, name, sources, tolerance, retired, seq) VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, sources = excluded.sources,
                 tolerance = excluded.tolerance, retired = excluded.retired, seq = excluded.seq",
            self.cut_list.0,
            self.name,
            &sources,
            self.tolerance as Percent,
            self.retired,
            at.seq as Seq
        )
        .execute(&mut *db)
        .await
        .on_constraint("cut_list_name_key", "name", "Another cut list has this name.")?;
        query!("DELETE FROM cut_list_line WHERE cut_list = $1", self.cut_list.0).execute(&mut *db).await?;
        let items: Vec<_> = self.cuts.iter().map(|cut| cut.item.id.0).collect();
        let shares: Vec<_> = self.cuts.iter().map(|cut| cut.share.decimal()).collect();
        let goes_to: Vec<_> = self.cuts.iter().map(|cut| cut.goes_to.word().to_owned()).collect();
        query!(
            "INSERT INTO cut_list_line (cut_list, n, item, share, goes_to, seq)
             SELECT $1, u.n, u.item, u.share, u.goes_to, $5
             FROM unnest($2::uuid[], $3::numeric[], $4::text[]) WITH ORDINALITY AS u(item, share, goes_to, n)",
            self.cut_list.0,
            &items,
            &shares,
            &goes_to,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for BreakdownOpened {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO breakdown (id, lot, cut_list, taken_in, opened_at, seq) VALUES ($1, $2, $3, $4, $5, $6)",
            self.breakdown.0,
            self.lot.id.0,
            self.cut_list.as_ref().map(|list| list.id.0),
            self.taken_in as Grams,
            at.happened_at,
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("breakdown_open_key", "lot", "This lot lies on the block already.")?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE breakdown SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for CutWeighed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO cut (seq, breakdown, lot, item, grams, pieces, goes_to, fat)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            at.seq as Seq,
            self.breakdown.0,
            self.lot.as_ref().map(|lot| lot.id.0),
            self.item.id.0,
            self.weight as Grams,
            i16::try_from(self.pieces).map_err(anyhow::Error::from)?,
            self.goes_to.word(),
            self.fat as Option<Percent>
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE cut SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq).execute(db).await?;
        Ok(())
    }
}

impl Project for SourceReweighed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO reweighing (seq, breakdown, found, reason) VALUES ($1, $2, $3, $4)",
            at.seq as Seq,
            self.breakdown.0,
            self.found() as Grams,
            self.reason
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE reweighing SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for BreakdownClosed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "UPDATE breakdown SET closed_at = $2, closed_by = $3, loss = $4, reason = $5 WHERE id = $1",
            self.breakdown.0,
            at.happened_at,
            at.seq as Seq,
            self.loss as Grams,
            self.reason
        )
        .execute(db)
        .await?;
        Ok(())
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, _by: Seq) -> Result<()> {
        query!(
            "UPDATE breakdown SET closed_at = NULL, closed_by = NULL, loss = NULL, reason = '' WHERE closed_by = $1",
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraint("breakdown_open_key", "", "This lot lies on the block again. Close that breakdown first.")?;
        Ok(())
    }
}
