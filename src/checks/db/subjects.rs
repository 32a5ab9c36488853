//! What a reading is taken on, and which lots it concerns when it is out of limits.

use sqlx::{PgConnection, query, query_scalar};
use time::OffsetDateTime;
use uuid::Uuid;

use crate::book::{self, Seq};
use crate::checks::entry::Where;
use crate::deviations::{On, Subject};
use crate::error::Result;
use crate::ids::{BatchId, LotId, Named, PlaceId};
use crate::measure::LotCode;
use crate::recipes::{RecipeKind, Stage};
use crate::setup;

/// Something that readings can be taken on.
#[derive(Debug, Clone)]
pub struct Found {
    pub subject: Subject,
    /// What it is, for the page: "cooler", "pork collar", "Juniper salami, drying".
    pub what: String,
    pub here: Where,
    /// The batch that it is or belongs to.
    pub batch: Option<BatchId>,
}

/// What this is, with all that decides which limits hold for it. `None`: no such thing, or struck.
pub async fn subject(db: &mut PgConnection, on: On) -> Result<Option<Found>> {
    match on {
        On::Place(id) => Ok(setup::place(db, id).await?.map(|place| Found {
            what: place.kind.word().to_owned(),
            here: Where { place: Some(id), kind: Some(place.kind), ..Where::default() },
            subject: Subject::Place(place.named()),
            batch: None,
        })),
        On::Lot(id) => lot(db, id).await,
        On::Batch(id) => batch(db, id).await,
    }
}

async fn lot(db: &mut PgConnection, id: LotId) -> Result<Option<Found>> {
    let Some(lot) = book::db::lot(db, id).await?.filter(|lot| !lot.struck) else { return Ok(None) };
    let batch = query!(
        r#"SELECT b.id AS "id: BatchId", b.stage AS "stage: Stage", y.kind AS "kind: RecipeKind",
                  plan_of_batch(b.id) AS "plan: Seq"
           FROM batch b JOIN recipe_version y ON y.recipe = b.recipe AND y.version = b.version
           LEFT JOIN piece p ON p.batch = b.id
           WHERE (b.mix = $1 OR p.lot = $1) AND b.struck_by IS NULL LIMIT 1"#,
        id.0
    )
    .fetch_optional(db)
    .await?;
    Ok(Some(Found {
        subject: Subject::Lot(lot.named()),
        what: lot.item_name,
        here: Where {
            form: Some(lot.form),
            stage: batch.as_ref().map(|batch| batch.stage),
            recipe: batch.as_ref().map(|batch| batch.kind),
            plan: batch.as_ref().and_then(|batch| batch.plan),
            ..Where::default()
        },
        batch: batch.map(|batch| batch.id),
    }))
}

async fn batch(db: &mut PgConnection, id: BatchId) -> Result<Option<Found>> {
    let row = query!(
        r#"SELECT b.code, b.stage AS "stage: Stage", y.kind AS "kind: RecipeKind", i.name,
                  plan_of_batch(b.id) AS "plan: Seq"
           FROM batch b JOIN item i ON i.id = b.product
           JOIN recipe_version y ON y.recipe = b.recipe AND y.version = b.version
           WHERE b.id = $1 AND b.struck_by IS NULL"#,
        id.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| Found {
        subject: Subject::Batch(Named::new(id, row.code)),
        what: format!("{}, {}", row.name, row.stage.word()),
        here: Where { stage: Some(row.stage), recipe: Some(row.kind), plan: row.plan, ..Where::default() },
        batch: Some(id),
    }))
}

/// What a code on a tag stands for: a batch where it is a batch's own, otherwise the lot.
pub async fn find(db: &mut PgConnection, code: &LotCode) -> Result<Option<On>> {
    let batch = query_scalar!(
        r#"SELECT id AS "id: BatchId" FROM batch WHERE code = $1 AND struck_by IS NULL"#,
        code.to_string()
    )
    .fetch_optional(&mut *db)
    .await?;
    if let Some(batch) = batch {
        return Ok(Some(On::Batch(batch)));
    }
    let lot = book::db::lot_by_code(db, code).await?.filter(|lot| !lot.struck);
    Ok(lot.map(|lot| On::Lot(lot.id)))
}

/// The lots that lay in a place, or in a place within it, at a moment; and what was made of them since. Those that
/// still weigh something.
pub async fn lots_of_place(
    db: &mut PgConnection,
    place: PlaceId,
    at: OffsetDateTime,
) -> Result<Vec<Named<LotId>>> {
    let lay = query_scalar!(
        r#"WITH RECURSIVE inside AS (
               SELECT id FROM place WHERE id = $1
               UNION SELECT p.id FROM place p JOIN inside i ON p.within = i.id
           ), stood AS (
               SELECT DISTINCT ON (p.lot) p.lot, p.place
               FROM put p JOIN entry e ON e.seq = p.seq
               WHERE p.lot IN (SELECT q.lot FROM put q JOIN inside i ON i.id = q.place)
                 AND e.happened_at <= $2 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = p.seq)
               ORDER BY p.lot, e.happened_at DESC, p.seq DESC
           )
           SELECT s.lot AS "lot: LotId" FROM stood s JOIN inside i ON i.id = s.place"#,
        place.0,
        at
    )
    .fetch_all(&mut *db)
    .await?;
    and_made_since(db, &lay, at).await
}

/// A lot, and what was made of it since.
pub async fn lots_of_lot(db: &mut PgConnection, lot: LotId, at: OffsetDateTime) -> Result<Vec<Named<LotId>>> {
    and_made_since(db, &[lot], at).await
}

/// A batch's mix and its pieces, and what was made of them: packs.
pub async fn lots_of_batch(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Named<LotId>>> {
    let own = query_scalar!(
        r#"SELECT mix AS "lot!: LotId" FROM batch WHERE id = $1
           UNION SELECT lot FROM piece WHERE batch = $1 AND struck_by IS NULL"#,
        batch.0
    )
    .fetch_all(&mut *db)
    .await?;
    still_here(db, &own).await
}

/// These lots and what was ever made of them, as far as it still weighs something.
pub async fn still_here(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<Named<LotId>>> {
    and_made_since(db, lots, OffsetDateTime::UNIX_EPOCH).await
}

/// These lots and everything that entries of this moment or later made of them, as far as it still weighs something.
async fn and_made_since(
    db: &mut PgConnection,
    lots: &[LotId],
    at: OffsetDateTime,
) -> Result<Vec<Named<LotId>>> {
    let ids: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query!(
        r#"WITH RECURSIVE walk AS (
               SELECT u.lot FROM unnest($1::uuid[]) AS u(lot)
               UNION
               SELECT made.lot FROM walk w
               JOIN movement went ON went.lot = w.lot AND went.grams < 0
               JOIN entry e ON e.seq = went.seq AND e.happened_at >= $2 AND e.kind <> 'entry.struck'
               JOIN movement made ON made.seq = went.seq AND made.grams > 0 AND made.lot IS NOT NULL
               WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = went.seq)
           )
           SELECT l.id AS "id: LotId", l.code FROM lot l JOIN walk w ON w.lot = l.id
           WHERE l.grams > 0 AND l.struck_by IS NULL ORDER BY l.code_day, l.code_number, l.code_piece"#,
        &ids,
        at
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| Named::new(row.id, row.code)).collect())
}
