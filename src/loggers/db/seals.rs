//! Whether the samples are still those that were sealed.

use rust_decimal::Decimal;
use sha2::{Digest, Sha256};
use sqlx::{PgConnection, query};
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;
use uuid::Uuid;

use crate::book::verify::Finding;
use crate::book::{Sealed, Seq};
use crate::error::Result;

/// How many samples are in memory at once.
const AT_ONCE: i64 = 50_000;

/// Recomputes the hash of every import and names the entry whose samples are not those that it sealed. Samples that no
/// entry seals are named as well.
pub fn seals_hold(db: &mut PgConnection) -> Sealed<'_> {
    Box::pin(look(db))
}

async fn look(db: &mut PgConnection) -> Result<Vec<Finding>> {
    let mut findings = Vec::new();
    let imports = query!(
        r#"SELECT i.id, i.seq AS "seq: Seq", i.place, i.samples, i.sha256, p.name FROM sample_import i
           JOIN place p ON p.id = i.place ORDER BY i.seq"#
    )
    .fetch_all(&mut *db)
    .await?;
    for import in imports {
        let (count, hash, elsewhere) = recompute(db, import.id, import.place).await?;
        if count != i64::from(import.samples) || hash != import.sha256 || elsewhere {
            let what = format!(
                "the logger samples of {} are not those that it sealed: it sealed {}, {count} are there",
                import.name, import.samples
            );
            findings.push(Finding { seq: Some(import.seq), what });
        }
    }
    let stray = query!(
        r#"SELECT count(*) AS "count!" FROM sample s
           WHERE NOT EXISTS (SELECT 1 FROM sample_import i WHERE i.id = s.import)"#
    )
    .fetch_one(db)
    .await?;
    if stray.count > 0 {
        findings.push(Finding {
            seq: None,
            what: format!("{} logger samples are sealed by no entry", stray.count),
        });
    }
    Ok(findings)
}

/// How many samples an import has, their hash as they lie in the table, and whether one lies in another place.
async fn recompute(db: &mut PgConnection, import: Uuid, place: Uuid) -> Result<(i64, Vec<u8>, bool)> {
    let (mut hash, mut count, mut elsewhere) = (Sha256::new(), 0_i64, false);
    let mut after = (String::new(), OffsetDateTime::UNIX_EPOCH, Uuid::nil());
    loop {
        let rows = query!(
            r#"SELECT place, quantity, at, value FROM sample
               WHERE import = $1 AND (quantity COLLATE "C", at, place) > ($2, $3, $4)
               ORDER BY quantity COLLATE "C", at, place LIMIT $5"#,
            import,
            after.0,
            after.1,
            after.2,
            AT_ONCE
        )
        .fetch_all(&mut *db)
        .await?;
        for row in &rows {
            hash.update(line(&row.quantity, row.at, row.value)?);
            elsewhere |= row.place != place;
            count += 1;
        }
        match rows.into_iter().last() {
            Some(last) => after = (last.quantity, last.at, last.place),
            None => return Ok((count, hash.finalize().to_vec(), elsewhere)),
        }
    }
}

/// As the row says it, whatever it says: a value that no quantity can have must not stop the reckoning.
fn line(quantity: &str, at: OffsetDateTime, value: Decimal) -> Result<String> {
    let at = at.to_offset(time::UtcOffset::UTC).format(&Rfc3339).map_err(anyhow::Error::from)?;
    Ok(format!("{quantity} {at} {}\n", value.normalize()))
}
