//! SQL of recipes and their versions.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::{Date, OffsetDateTime};

use super::entry::{Quickens, RecipeLine, RecipeRetired, RecipeStep, RecipeWritten};
use super::words::{Per, RecipeKind, Role, Stage};
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{ItemId, LotId, Named, RecipeId};
use crate::measure::{Grams, LotCode, Percent};
use crate::receiving;
use crate::standards::ingoing::{Brings, Curing};
use crate::standards::limits::{Product, Way};

impl Project for RecipeWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO recipe (id, name, retired, seq) VALUES ($1, $2, false, $3)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, retired = false, seq = excluded.seq",
            self.recipe.0,
            self.name,
            at.seq as Seq
        )
        .execute(&mut *db)
        .await
        .on_constraint("recipe_name_key", "name", "Another recipe has this name.")?;
        query!(
            "INSERT INTO recipe_version (recipe, version, kind, product, brine, target_loss, weigh_every, note,
                                         written_at, seq, way, pump, pick_up, falls_under, moisture)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)",
            self.recipe.0,
            i32::from(self.version),
            self.kind.word(),
            self.product.id.0,
            self.brine as Option<Percent>,
            self.target_loss as Option<Percent>,
            self.weigh_every.map(i16::try_from).transpose().map_err(anyhow::Error::from)?,
            self.note,
            at.happened_at,
            at.seq as Seq,
            self.way.map(Way::word),
            self.pump as Option<Percent>,
            self.pick_up as Option<Percent>,
            self.falls_under.map(Product::word),
            self.moisture as Option<Percent>
        )
        .execute(&mut *db)
        .await?;
        insert_lines(db, at, self).await?;
        insert_steps(db, at, self).await
    }
}

async fn insert_lines(db: &mut PgConnection, at: &Written, recipe: &RecipeWritten) -> Result<()> {
    let lines = &recipe.lines;
    let roles: Vec<_> = lines.iter().map(|line| line.role.word().to_owned()).collect();
    let items: Vec<_> = lines.iter().map(|line| line.item.id.0).collect();
    let percents: Vec<_> = lines.iter().map(|line| line.percent.decimal()).collect();
    let pers: Vec<_> = lines.iter().map(|line| line.per.word().to_owned()).collect();
    let tolerances: Vec<_> = lines.iter().map(|line| line.tolerance.decimal()).collect();
    let salts: Vec<_> = lines.iter().map(|line| line.salt.map(Percent::decimal)).collect();
    let sugars: Vec<_> = lines.iter().map(|line| line.sugar.map(Percent::decimal)).collect();
    let quickens: Vec<_> =
        lines.iter().map(|line| line.accelerator.map(|one| one.what.word().to_owned())).collect();
    let shares: Vec<_> = lines.iter().map(|line| line.accelerator.map(|one| one.share.decimal())).collect();
    query!(
        "INSERT INTO recipe_line (recipe, version, n, role, item, percent, per, tolerance, salt, sugar, accelerator,
                                  accelerator_share, seq)
         SELECT $1, $2, u.n, u.role, u.item, u.percent, u.per, u.tolerance, u.salt, u.sugar, u.quickens, u.share, $3
         FROM unnest($4::text[], $5::uuid[], $6::numeric[], $7::text[], $8::numeric[], $9::numeric[], $10::numeric[],
                     $11::text[], $12::numeric[])
              WITH ORDINALITY AS u(role, item, percent, per, tolerance, salt, sugar, quickens, share, n)",
        recipe.recipe.0,
        i32::from(recipe.version),
        at.seq as Seq,
        &roles,
        &items,
        &percents,
        &pers,
        &tolerances,
        &salts as &[Option<rust_decimal::Decimal>],
        &sugars as &[Option<rust_decimal::Decimal>],
        &quickens as &[Option<String>],
        &shares as &[Option<rust_decimal::Decimal>]
    )
    .execute(db)
    .await?;
    Ok(())
}

async fn insert_steps(db: &mut PgConnection, at: &Written, recipe: &RecipeWritten) -> Result<()> {
    let steps = &recipe.steps;
    let stages: Vec<_> = steps.iter().map(|step| step.stage.word().to_owned()).collect();
    let hours = steps.iter().map(|step| i32::try_from(step.hours)).collect::<Result<Vec<_>, _>>();
    let hours = hours.map_err(anyhow::Error::from)?;
    let notes: Vec<_> = steps.iter().map(|step| step.note.clone()).collect();
    query!(
        "INSERT INTO recipe_step (recipe, version, n, stage, hours, note, seq)
         SELECT $1, $2, u.n, u.stage, u.hours, u.note, $3
         FROM unnest($4::text[], $5::int[], $6::text[]) WITH ORDINALITY AS u(stage, hours, note, n)",
        recipe.recipe.0,
        i32::from(recipe.version),
        at.seq as Seq,
        &stages,
        &hours,
        &notes
    )
    .execute(db)
    .await?;
    Ok(())
}

impl Project for RecipeRetired {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "UPDATE recipe SET retired = $2, seq = $3 WHERE id = $1",
            self.recipe.id.0,
            self.retired,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// A recipe in one of its versions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recipe {
    pub id: RecipeId,
    pub name: String,
    pub retired: bool,
    pub version: u16,
    pub kind: RecipeKind,
    pub product: Named<ItemId>,
    /// Weight of the brine, per cent of the meat.
    pub brine: Option<Percent>,
    pub target_loss: Option<Percent>,
    pub weigh_every: Option<u16>,
    pub note: String,
    pub written_at: OffsetDateTime,
    /// How the cure meets the meat, where the kind alone does not say it.
    pub way: Option<Way>,
    pub pump: Option<Percent>,
    pub pick_up: Option<Percent>,
    pub falls_under: Option<Product>,
    /// Water in the meat, per cent, where it is known.
    pub moisture: Option<Percent>,
    pub lines: Vec<RecipeLine>,
    pub steps: Vec<RecipeStep>,
}

struct VersionRow {
    name: String,
    retired: bool,
    version: i32,
    kind: RecipeKind,
    product: ItemId,
    product_name: String,
    brine: Option<Percent>,
    target_loss: Option<Percent>,
    weigh_every: Option<i16>,
    note: String,
    written_at: OffsetDateTime,
    way: Option<String>,
    pump: Option<Percent>,
    pick_up: Option<Percent>,
    falls_under: Option<String>,
    moisture: Option<Percent>,
}

/// A recipe in a version of it; in its last one when none is named.
pub async fn recipe(db: &mut PgConnection, id: RecipeId, version: Option<u16>) -> Result<Option<Recipe>> {
    let row = query_as!(
        VersionRow,
        r#"SELECT r.name, r.retired, v.version, v.kind AS "kind: RecipeKind", v.product AS "product: ItemId",
                  i.name AS product_name, v.brine AS "brine: Percent", v.target_loss AS "target_loss: Percent",
                  v.weigh_every, v.note, v.written_at, v.way, v.pump AS "pump: Percent",
                  v.pick_up AS "pick_up: Percent", v.falls_under, v.moisture AS "moisture: Percent"
           FROM recipe r JOIN recipe_version v ON v.recipe = r.id JOIN item i ON i.id = v.product
           WHERE r.id = $1 AND ($2::int IS NULL OR v.version = $2) ORDER BY v.version DESC LIMIT 1"#,
        id.0,
        version.map(i32::from)
    );
    let Some(row) = row.fetch_optional(&mut *db).await? else { return Ok(None) };
    let lines = lines(db, id, row.version).await?;
    let steps = steps(db, id, row.version).await?;
    Ok(Some(Recipe {
        id,
        name: row.name,
        retired: row.retired,
        version: u16::try_from(row.version).map_err(anyhow::Error::from)?,
        kind: row.kind,
        product: Named::new(row.product, row.product_name),
        brine: row.brine,
        target_loss: row.target_loss,
        weigh_every: row.weigh_every.map(u16::try_from).transpose().map_err(anyhow::Error::from)?,
        note: row.note,
        written_at: row.written_at,
        way: row.way.and_then(|word| word.parse().ok()),
        pump: row.pump,
        pick_up: row.pick_up,
        falls_under: row.falls_under.and_then(|word| word.parse().ok()),
        moisture: row.moisture,
        lines,
        steps,
    }))
}

async fn lines(db: &mut PgConnection, id: RecipeId, version: i32) -> Result<Vec<RecipeLine>> {
    let rows = query!(
        r#"SELECT l.role AS "role: Role", l.item AS "item: ItemId", i.name, l.percent AS "percent: Percent",
                  l.per AS "per: Per", l.tolerance AS "tolerance: Percent", l.salt AS "salt: Percent",
                  l.sugar AS "sugar: Percent", l.accelerator, l.accelerator_share AS "share: Percent"
           FROM recipe_line l JOIN item i ON i.id = l.item
           WHERE l.recipe = $1 AND l.version = $2 ORDER BY l.n"#,
        id.0,
        version
    )
    .fetch_all(db)
    .await?;
    let line = rows.into_iter().map(|row| RecipeLine {
        role: row.role,
        item: Named::new(row.item, row.name),
        percent: row.percent,
        per: row.per,
        tolerance: row.tolerance,
        salt: row.salt,
        sugar: row.sugar,
        accelerator: row
            .accelerator
            .and_then(|word| word.parse().ok())
            .zip(row.share)
            .map(|(what, share)| Quickens { what, share }),
    });
    Ok(line.collect())
}

async fn steps(db: &mut PgConnection, id: RecipeId, version: i32) -> Result<Vec<RecipeStep>> {
    let rows = query!(
        r#"SELECT stage AS "stage: Stage", hours, note FROM recipe_step
           WHERE recipe = $1 AND version = $2 ORDER BY n"#,
        id.0,
        version
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let hours = u32::try_from(row.hours).map_err(anyhow::Error::from)?;
            Ok(RecipeStep { stage: row.stage, hours, note: row.note })
        })
        .collect()
}

/// The number of a recipe's last version.
pub async fn last_version(db: &mut PgConnection, id: RecipeId) -> Result<Option<u16>> {
    let last = query_scalar!("SELECT max(version) FROM recipe_version WHERE recipe = $1", id.0);
    let last = last.fetch_one(db).await?;
    Ok(last.map(u16::try_from).transpose().map_err(anyhow::Error::from)?)
}

impl Recipe {
    /// The recipe as an entry names it.
    pub fn named(&self) -> Named<RecipeId> {
        Named::new(self.id, self.name.clone())
    }

    /// How the cure meets the meat, and how much of a pickle does.
    pub fn curing(&self) -> Curing {
        Curing {
            way: self.way.unwrap_or_else(|| self.kind.way()),
            pump: self.pump.unwrap_or_default(),
            pick_up: self.pick_up.unwrap_or_default(),
        }
    }

    /// What it falls under, as limits tell products apart.
    pub fn falls_under(&self) -> Product {
        self.falls_under.unwrap_or(Product::Other)
    }
}

/// A recipe as the list of them shows it.
pub struct Listed {
    pub id: RecipeId,
    pub name: String,
    pub retired: bool,
    pub version: i32,
    pub kind: RecipeKind,
    pub product_name: String,
    pub written_at: OffsetDateTime,
}

/// All recipes in their last version: those in use first, each part by name.
pub async fn listed(db: &mut PgConnection) -> Result<Vec<Listed>> {
    let rows = query_as!(
        Listed,
        r#"SELECT DISTINCT ON (r.retired, lower(r.name), r.id)
                  r.id AS "id: RecipeId", r.name, r.retired, v.version, v.kind AS "kind: RecipeKind",
                  i.name AS product_name, v.written_at
           FROM recipe r JOIN recipe_version v ON v.recipe = r.id JOIN item i ON i.id = v.product
           ORDER BY r.retired, lower(r.name), r.id, v.version DESC"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// A version of a recipe, and when it was written.
pub struct Version {
    pub version: i32,
    pub written_at: OffsetDateTime,
}

/// The versions of a recipe, the last one first.
pub async fn versions(db: &mut PgConnection, id: RecipeId) -> Result<Vec<Version>> {
    let rows = query_as!(
        Version,
        "SELECT version, written_at FROM recipe_version WHERE recipe = $1 ORDER BY version DESC",
        id.0
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot of an ingredient or a casing that holds something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnHand {
    pub lot: LotId,
    pub code: LotCode,
    pub item: ItemId,
    pub grams: Grams,
    pub held: bool,
    pub best_before: Option<Date>,
    /// What its pack states; none where it states nothing.
    pub strength: Option<Brings>,
}

/// The lots on hand of some things, what keeps shortest first.
pub async fn on_hand(db: &mut PgConnection, items: &[ItemId]) -> Result<Vec<OnHand>> {
    let items: Vec<_> = items.iter().map(|item| item.0).collect();
    let rows = query!(
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item AS "item: ItemId", l.grams AS "grams: Grams",
                  EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL) AS "held!"
           FROM lot l
           WHERE l.item = ANY($1) AND l.grams > 0 AND l.form IN ('ingredient', 'casing') AND l.struck_by IS NULL"#,
        &items
    )
    .fetch_all(&mut *db)
    .await?;
    let ids: Vec<LotId> = rows.iter().map(|row| row.lot).collect();
    let mut goods = receiving::goods_lots(db, &ids).await?;
    let mut lots: Vec<OnHand> = rows
        .into_iter()
        .map(|row| {
            let known = goods.remove(&row.lot);
            let strength = known.as_ref().and_then(|known| known.strength);
            OnHand {
                lot: row.lot,
                code: row.code,
                item: row.item,
                grams: row.grams,
                held: row.held,
                best_before: known.and_then(|known| known.best_before),
                strength: strength.map(receiving::Strength::brings),
            }
        })
        .collect();
    lots.sort_by_key(|lot| (lot.best_before.is_none(), lot.best_before, lot.code));
    Ok(lots)
}
