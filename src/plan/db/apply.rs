//! What each entry of this area writes into its tables.

use sqlx::{PgConnection, query};

use crate::book::{Project, Seq, Written};
use crate::deviations;
use crate::error::{OnConstraint, Result};
use crate::plan::entry::{
    CheckAnswered, CheckMissed, Document, MonitoringObserved, PlanDrafted, PlanReassessed, PlanSigned,
};

fn text(document: &Document) -> Result<String> {
    Ok(serde_json::to_string(document).map_err(anyhow::Error::from)?)
}

impl Project for PlanDrafted {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO plan (id, sort, name, document, shipped, version, draft, seq, sanitation)
             VALUES ($1, $2, $3, $4, $5, 0, true, $6, $7)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, document = excluded.document, draft = true,
                 seq = excluded.seq",
            self.plan.0,
            self.document.sort.word(),
            self.document.name,
            text(&self.document)?,
            self.shipped,
            at.seq as Seq,
            self.document.sanitation
        )
        .execute(db)
        .await
        .on_constraint("plan_name_key", "name", "Another plan has this name.")?;
        Ok(())
    }
}

impl Project for PlanSigned {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let document = text(&self.document)?;
        let version = i32::try_from(self.version).map_err(anyhow::Error::from)?;
        let covers: Vec<String> = self.document.covers.iter().map(|kind| kind.word().to_owned()).collect();
        query!(
            "UPDATE plan SET document = $2, name = $3, version = $4, draft = false, seq = $5, sanitation = $6 WHERE id = $1",
            self.plan.0,
            document,
            self.document.name,
            version,
            at.seq as Seq,
            self.document.sanitation
        )
        .execute(&mut *db)
        .await?;
        query!(
            "INSERT INTO plan_version (plan, version, document, covers, reason, signed_at, signed_by, seq)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            self.plan.0,
            version,
            document,
            &covers,
            self.reason,
            at.happened_at,
            at.person.0,
            at.seq as Seq
        )
        .execute(&mut *db)
        .await?;
        let checks: Vec<uuid::Uuid> = self.document.checks.iter().map(|check| check.id.0).collect();
        query!(
            "INSERT INTO planned_check (id, plan, since_at, seq) SELECT u.id, $2, $3, $4 FROM unnest($1::uuid[]) AS u(id)
             ON CONFLICT (id) DO NOTHING",
            &checks,
            self.plan.0,
            at.happened_at,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for PlanReassessed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO plan_reassessment (seq, plan, version, at, reason) VALUES ($1, $2, $3, $4, $5)",
            at.seq as Seq,
            self.plan.id.0,
            i32::try_from(self.version).map_err(anyhow::Error::from)?,
            at.happened_at,
            self.reason
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

impl Project for CheckAnswered {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO check_answer (seq, planned, subject, yes, at) VALUES ($1, $2, $3, $4, $5)",
            at.seq as Seq,
            self.check.id.0,
            self.subject.on().id(),
            self.yes(),
            at.happened_at
        )
        .execute(&mut *db)
        .await?;
        match &self.deviation {
            Some(opened) => deviations::open(db, opened, self.subject.on(), at).await,
            None => Ok(()),
        }
    }

    async fn unapply(&self, db: &mut PgConnection, at: &Written, by: Seq) -> Result<()> {
        query!("UPDATE check_answer SET struck_by = $2 WHERE seq = $1", at.seq as Seq, by as Seq)
            .execute(&mut *db)
            .await?;
        deviations::unopen(db, at, by).await
    }
}

impl Project for CheckMissed {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO check_missed (seq, planned, subject, from_at, until_at, times)
             VALUES ($1, $2, $3, $4, $5, $6)",
            at.seq as Seq,
            self.check.id.0,
            self.subject.on().id(),
            self.from,
            self.until,
            i32::try_from(self.times).map_err(anyhow::Error::from)?
        )
        .execute(&mut *db)
        .await?;
        deviations::open(db, &self.opened, self.subject.on(), at).await
    }
}

impl Project for MonitoringObserved {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO monitoring_observation (seq, planned, who, in_order, words, at)
             VALUES ($1, $2, $3, $4, $5, $6)",
            at.seq as Seq,
            self.check.id.0,
            self.who.id.0,
            self.in_order,
            self.words,
            at.happened_at
        )
        .execute(db)
        .await?;
        Ok(())
    }
}
