//! SQL of cut lists, breakdowns and cuts.

use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;

use super::entry::{BreakdownOpened, CutListWritten, CutWeighed, OnTheBlock};
use crate::book::{self, Form, Project, Seq, Written};
use crate::error::{Error, OnConstraint, Result};
use crate::ids::{BreakdownId, CutListId, ItemId, LotId};
use crate::measure::{Grams, LotCode, Percent};

impl Project for CutListWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        let sources: Vec<String> = self.sources.iter().map(|form| form.word().to_owned()).collect();
        query!(
            "INSERT INTO cut_list (id, name, sources, retired, seq) VALUES ($1, $2, $3, $4, $5)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, sources = excluded.sources,
                 retired = excluded.retired, seq = excluded.seq",
            self.cut_list.0,
            self.name,
            &sources,
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

/// A breakdown and what lies on the block of it.
pub async fn on_the_block(db: &mut PgConnection, id: BreakdownId) -> Result<Option<OnTheBlock>> {
    let row = query!(
        r#"SELECT lot AS "lot: LotId", taken_in AS "taken_in: Grams", closed_by IS NOT NULL AS "closed!"
           FROM breakdown WHERE id = $1 AND struck_by IS NULL"#,
        id.0
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(row) = row else { return Ok(None) };
    let source = book::db::lot(db, row.lot).await?.ok_or(Error::NotFound)?;
    Ok(Some(OnTheBlock { breakdown: id, taken_in: row.taken_in, closed: row.closed, source }))
}

/// A breakdown as the list of them shows it.
pub struct Listed {
    pub id: BreakdownId,
    pub code: LotCode,
    pub item_name: String,
    pub taken_in: Grams,
    pub left: Grams,
    pub opened_at: OffsetDateTime,
    pub closed: bool,
}

/// The open breakdowns first, then the latest closed ones.
pub async fn listed(db: &mut PgConnection, limit: i64) -> Result<Vec<Listed>> {
    let rows = query_as!(
        Listed,
        r#"SELECT b.id AS "id: BreakdownId", l.code AS "code: LotCode", l.item_name, b.taken_in AS "taken_in: Grams",
                  l.grams AS "left: Grams", b.opened_at, b.closed_by IS NOT NULL AS "closed!"
           FROM breakdown b JOIN lot l ON l.id = b.lot
           WHERE b.struck_by IS NULL
           ORDER BY b.closed_by IS NOT NULL, b.opened_at DESC LIMIT $1"#,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot that can come on the block.
pub struct Waiting {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub grams: Grams,
    pub form: Form,
}

/// Carcasses, sides, primals and cuts that hold something, are not held and are not on the block.
pub async fn waiting(db: &mut PgConnection) -> Result<Vec<Waiting>> {
    let rows = query_as!(
        Waiting,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.grams AS "grams: Grams",
                  l.form AS "form: Form"
           FROM lot l
           WHERE l.grams > 0 AND l.form IN ('carcass', 'side', 'primal', 'cut')
             AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL)
             AND NOT EXISTS (SELECT 1 FROM breakdown b WHERE b.lot = l.id AND b.closed_by IS NULL
                             AND b.struck_by IS NULL)
           ORDER BY array_position(ARRAY['carcass', 'side', 'primal', 'cut'], l.form), l.code_day, l.code_number,
                    l.code_piece"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// An expected cut of a breakdown's list.
pub struct Expected {
    pub item: ItemId,
    pub name: String,
    pub share: Percent,
    pub goes_to: String,
}

/// The cut list of a breakdown, in its order; empty where it has none.
pub async fn expected(db: &mut PgConnection, id: BreakdownId) -> Result<Vec<Expected>> {
    let rows = query_as!(
        Expected,
        r#"SELECT i.id AS "item: ItemId", i.name, n.share AS "share: Percent", n.goes_to
           FROM breakdown b JOIN cut_list_line n ON n.cut_list = b.cut_list JOIN item i ON i.id = n.item
           WHERE b.id = $1 ORDER BY n.n"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A cut that was weighed and stands.
pub struct Weighed {
    pub seq: Seq,
    pub item: ItemId,
    pub item_name: String,
    pub lot: Option<LotId>,
    pub grams: Grams,
    pub pieces: i16,
    pub goes_to: String,
}

/// The cuts of a breakdown that stand, in the order of the book.
pub async fn cuts(db: &mut PgConnection, id: BreakdownId) -> Result<Vec<Weighed>> {
    let rows = query_as!(
        Weighed,
        r#"SELECT c.seq AS "seq: Seq", c.item AS "item: ItemId", i.name AS item_name, c.lot AS "lot: LotId",
                  c.grams AS "grams: Grams", c.pieces, c.goes_to
           FROM cut c JOIN item i ON i.id = c.item
           WHERE c.breakdown = $1 AND c.struck_by IS NULL ORDER BY c.seq"#,
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A cut list in use.
pub struct CutList {
    pub id: CutListId,
    pub name: String,
    pub sources: Vec<Form>,
}

/// The cut lists in use, by name.
pub async fn cut_lists(db: &mut PgConnection) -> Result<Vec<CutList>> {
    let rows = query_as!(
        CutList,
        r#"SELECT id AS "id: CutListId", name, sources AS "sources: Vec<Form>"
           FROM cut_list WHERE NOT retired ORDER BY lower(name)"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// One cut list in use.
pub async fn cut_list(db: &mut PgConnection, id: CutListId) -> Result<Option<CutList>> {
    let row = query_as!(
        CutList,
        r#"SELECT id AS "id: CutListId", name, sources AS "sources: Vec<Form>"
           FROM cut_list WHERE id = $1 AND NOT retired"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}
