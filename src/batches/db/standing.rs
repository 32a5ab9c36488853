//! A batch as the rules look at it.

use sqlx::{PgConnection, query, query_scalar};
use time::{Date, OffsetDateTime};

use crate::batches::entry::{LineStanding, PieceStanding, Standing, Weighing, stated};
use crate::book::{self, Seq};
use crate::error::{Error, Result};
use crate::ids::{BatchId, LotId, Named, PlaceId, RecipeId};
use crate::limits;
use crate::measure::{ExactGrams, Grams, LotCode, Percent};
use crate::recipes::{self, Proportions, Recipe, Role, Stage};
use crate::standards::limits::Alkali;

struct Row {
    code: LotCode,
    recipe: RecipeId,
    version: i32,
    mix: LotId,
    meat_target: Grams,
    meat: Grams,
    meat_exact: ExactGrams,
    /// The day on which it was begun, as the shop has it.
    day: Date,
    begun_at: OffsetDateTime,
    stage: Stage,
    stage_at: OffsetDateTime,
    stage_place: Option<PlaceId>,
    place_name: Option<String>,
    applied: bool,
}

/// A batch that stands; a struck one is not there.
pub async fn standing(db: &mut PgConnection, id: BatchId) -> Result<Option<Standing>> {
    let row = sqlx::query_as!(
        Row,
        r#"SELECT b.code AS "code: LotCode", b.recipe AS "recipe: RecipeId", b.version, b.mix AS "mix: LotId",
                  b.meat_target AS "meat_target: Grams", b.begun_at, b.stage AS "stage: Stage", b.stage_at,
                  b.stage_place AS "stage_place: PlaceId", p.name AS "place_name?",
                  coalesce((SELECT sum(m.grams) FROM batch_meat m WHERE m.batch = b.id AND m.struck_by IS NULL), 0)
                      AS "meat!: Grams",
                  coalesce((SELECT sum(coalesce(m.exact, m.grams)) FROM batch_meat m
                            WHERE m.batch = b.id AND m.struck_by IS NULL), 0) AS "meat_exact!: ExactGrams",
                  (b.begun_at AT TIME ZONE coalesce((SELECT s.zone FROM shop s LIMIT 1), 'UTC'))::date AS "day!",
                  EXISTS (SELECT 1 FROM batch_applied a WHERE a.batch = b.id AND a.struck_by IS NULL) AS "applied!"
           FROM batch b LEFT JOIN place p ON p.id = b.stage_place WHERE b.id = $1 AND b.struck_by IS NULL"#,
        id.0
    );
    let Some(row) = row.fetch_optional(&mut *db).await? else { return Ok(None) };
    let version = u16::try_from(row.version).map_err(anyhow::Error::from)?;
    let recipe = recipes::recipe(db, row.recipe, Some(version)).await?.ok_or(Error::NotFound)?;
    let mix = book::db::lot(db, row.mix).await?.ok_or(Error::NotFound)?;
    let meat_block = if row.meat.is_zero() { row.meat_target } else { row.meat };
    Ok(Some(Standing {
        batch: id,
        code: row.code,
        recipe: recipe.named(),
        version,
        kind: recipe.kind,
        product: recipe.product.clone(),
        mix,
        meat_target: row.meat_target,
        meat: row.meat,
        meat_exact: row.meat_exact,
        curing: recipe.curing(),
        falls_under: recipe.falls_under(),
        in_force: limits::in_force(db, row.day, row.begun_at).await?,
        weighings: weighings(db, id).await?,
        laid_on: super::reads::laid_on(db, id).await?,
        begun_at: row.begun_at,
        stage: row.stage,
        stage_at: row.stage_at,
        place: row.stage_place.zip(row.place_name).map(|(id, name)| Named::new(id, name)),
        target_loss: recipe.target_loss,
        weigh_every: recipe.weigh_every,
        lines: lines(db, id, &recipe, meat_block).await?,
        steps: recipe.steps,
        stages: stages(db, id).await?,
        pieces: pieces(db, id).await?,
        applied: row.applied,
    }))
}

/// The recipe's lines with what was weighed for each.
async fn lines(
    db: &mut PgConnection,
    id: BatchId,
    recipe: &Recipe,
    meat: Grams,
) -> Result<Vec<LineStanding>> {
    let weighed = query!(
        r#"SELECT line AS "line!", sum(grams) AS "grams!: Grams", bool_or(outside) AS "outside!"
           FROM (SELECT line, grams, verdict = 'outside' AS outside FROM batch_ingredient
                 WHERE batch = $1 AND struck_by IS NULL
                 UNION ALL
                 SELECT line, grams, false FROM batch_meat
                 WHERE batch = $1 AND struck_by IS NULL AND line IS NOT NULL) w
           GROUP BY line"#,
        id.0
    )
    .fetch_all(db)
    .await?;
    let broken = |why: &dyn std::fmt::Display| anyhow::anyhow!("recipe {} does not reckon: {why}", recipe.id);
    let proportions =
        Proportions::new(recipe.kind, &recipe.lines, recipe.brine).map_err(|why| broken(&why))?;
    let targets = proportions.targets(meat, recipe.lines.len()).map_err(|why| broken(&why))?;
    let lines = (1_u16..).zip(&recipe.lines).zip(targets).map(|((n, line), target)| {
        let found = weighed.iter().find(|row| row.line == i16::try_from(n).unwrap_or(i16::MAX));
        LineStanding {
            n,
            line: line.clone(),
            target,
            weighed: found.map_or(Grams::ZERO, |row| row.grams),
            explained: found.is_some_and(|row| row.outside),
        }
    });
    Ok(lines.collect())
}

/// Every weighing that stands, in the order of the book.
async fn weighings(db: &mut PgConnection, id: BatchId) -> Result<Vec<Weighing>> {
    let rows = query!(
        r#"SELECT g.seq AS "seq: Seq", g.line, n.role AS "role: Role", i.name, g.grams AS "grams: Grams",
                  g.exact AS "exact: ExactGrams", g.nitrite AS "nitrite: Percent", g.nitrate AS "nitrate: Percent",
                  g.nitrite_salt, g.nitrate_salt, g.reason
           FROM batch_ingredient g JOIN batch b ON b.id = g.batch
                JOIN recipe_line n ON n.recipe = b.recipe AND n.version = b.version AND n.n = g.line
                JOIN item i ON i.id = g.item
           WHERE g.batch = $1 AND g.struck_by IS NULL ORDER BY g.seq"#,
        id.0
    )
    .fetch_all(db)
    .await?;
    let salt = |word: Option<String>| word.and_then(|word| word.parse::<Alkali>().ok());
    let weighings = rows.into_iter().map(|row| Weighing {
        seq: row.seq,
        n: u16::try_from(row.line).unwrap_or_default(),
        role: row.role,
        name: row.name,
        weight: row.exact.unwrap_or_else(|| row.grams.into()),
        brings: stated((row.nitrite, salt(row.nitrite_salt)), (row.nitrate, salt(row.nitrate_salt))),
        reason: row.reason,
    });
    Ok(weighings.collect())
}

async fn stages(db: &mut PgConnection, id: BatchId) -> Result<Vec<Stage>> {
    let stages = query_scalar!(
        r#"SELECT stage AS "stage: Stage" FROM batch_stage
           WHERE batch = $1 AND struck_by IS NULL AND stage <> 'released' ORDER BY seq"#,
        id.0
    );
    Ok(stages.fetch_all(db).await?)
}

async fn pieces(db: &mut PgConnection, id: BatchId) -> Result<Vec<PieceStanding>> {
    let rows = query!(
        r#"SELECT lot AS "lot: LotId", green AS "green: Grams", released_by AS "released_by: Seq" FROM piece
           WHERE batch = $1 AND struck_by IS NULL"#,
        id.0
    )
    .fetch_all(&mut *db)
    .await?;
    let ids: Vec<LotId> = rows.iter().map(|row| row.lot).collect();
    let lots = book::db::lots(db, &ids).await?;
    let pieces = lots.into_iter().filter_map(|lot| {
        let row = rows.iter().find(|row| row.lot == lot.id)?;
        Some(PieceStanding { green: row.green, released: row.released_by.is_some(), lot })
    });
    Ok(pieces.collect())
}
