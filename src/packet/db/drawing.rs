//! Packets that are drawn beside the requests: how far each is, and its file. No evidence: what is signed for is in `packet`.

use sqlx::{PgConnection, query, query_as};
use uuid::Uuid;

use crate::book::Seq;
use crate::error::Result;
use crate::packet::drawing::{File, TableOf};
use crate::packet::entry::Scope;

/// A drawing as it stands.
#[derive(Debug, Clone)]
pub struct Drawing {
    pub id: Uuid,
    /// How far it is, in per cent.
    pub percent: i32,
    pub failed: bool,
    /// Whether nobody draws it any more: the program was stopped meanwhile.
    pub left: bool,
    pub done: Option<Done>,
}

impl Drawing {
    /// Whether somebody is at it.
    pub fn goes_on(&self) -> bool {
        self.done.is_none() && !self.failed && !self.left
    }
}

/// What a finished drawing says on its cover.
#[derive(Debug, Clone)]
pub struct Done {
    pub name: String,
    pub upto: Seq,
    pub head: String,
    pub lines: usize,
    pub tables: Vec<TableOf>,
}

/// One that has said nothing for so long is drawn by nobody.
const SILENT_SECONDS: f64 = 30.0;

/// The latest drawing of a thing, of the last day.
pub async fn latest(db: &mut PgConnection, scope: Scope) -> Result<Option<Drawing>> {
    let row = query!(
        r#"SELECT id, percent, failed, name, upto AS "upto: Seq", head, lines, tables,
                  pdf IS NULL AND NOT failed AND beat_at < now() - make_interval(secs => $2) AS "left!"
           FROM packet_drawing WHERE scope = $1 AND at > now() - interval '1 day' ORDER BY at DESC LIMIT 1"#,
        scope.to_string(),
        SILENT_SECONDS
    );
    let Some(row) = row.fetch_optional(db).await? else { return Ok(None) };
    let done = match (row.name, row.upto, row.head, row.lines, row.tables) {
        (Some(name), Some(upto), Some(head), Some(lines), Some(tables)) => Some(Done {
            name,
            upto,
            head,
            lines: usize::try_from(lines).map_err(anyhow::Error::from)?,
            tables: serde_json::from_value(tables).map_err(anyhow::Error::from)?,
        }),
        _ => None,
    };
    Ok(Some(Drawing { id: row.id, percent: row.percent, failed: row.failed, left: row.left, done }))
}

/// Notes a drawing that begins, and forgets those of yesterday.
pub async fn begun(db: &mut PgConnection, id: Uuid, scope: Scope) -> Result<()> {
    query!("DELETE FROM packet_drawing WHERE at < now() - interval '1 day'").execute(&mut *db).await?;
    query!("INSERT INTO packet_drawing (id, scope) VALUES ($1, $2)", id, scope.to_string())
        .execute(db)
        .await?;
    Ok(())
}

/// Says how far one is.
pub async fn beat(db: &mut PgConnection, id: Uuid, percent: i32) -> Result<()> {
    query!("UPDATE packet_drawing SET percent = $2, beat_at = now() WHERE id = $1", id, percent)
        .execute(db)
        .await?;
    Ok(())
}

/// It is done: its file is kept for a day.
pub async fn done(db: &mut PgConnection, id: Uuid, file: &File) -> Result<()> {
    query!(
        "UPDATE packet_drawing SET percent = 100, beat_at = now(), name = $2, upto = $3, head = $4, lines = $5, tables = $6,
             pdf = $7 WHERE id = $1",
        id,
        file.name,
        file.upto as Seq,
        file.head,
        i32::try_from(file.lines).map_err(anyhow::Error::from)?,
        serde_json::to_value(&file.tables).map_err(anyhow::Error::from)?,
        file.pdf
    )
    .execute(db)
    .await?;
    Ok(())
}

/// It could not be drawn; the log says why.
pub async fn failed(db: &mut PgConnection, id: Uuid) -> Result<()> {
    query!("UPDATE packet_drawing SET failed = true WHERE id = $1", id).execute(db).await?;
    Ok(())
}

struct Row {
    name: String,
    upto: Seq,
    head: String,
    lines: i32,
    tables: serde_json::Value,
    pdf: Vec<u8>,
}

/// A finished drawing of a thing, with its file.
pub async fn file(db: &mut PgConnection, id: Uuid, scope: Scope) -> Result<Option<File>> {
    let row = query_as!(
        Row,
        r#"SELECT name AS "name!", upto AS "upto!: Seq", head AS "head!", lines AS "lines!", tables AS "tables!", pdf AS "pdf!"
           FROM packet_drawing WHERE id = $1 AND scope = $2 AND pdf IS NOT NULL"#,
        id,
        scope.to_string()
    );
    let Some(row) = row.fetch_optional(db).await? else { return Ok(None) };
    Ok(Some(File {
        name: row.name,
        upto: row.upto,
        head: row.head,
        lines: usize::try_from(row.lines).map_err(anyhow::Error::from)?,
        tables: serde_json::from_value(row.tables).map_err(anyhow::Error::from)?,
        pdf: row.pdf,
    }))
}
