//! Which batches have come to the end of their stage, or will.

use sqlx::PgConnection;
use time::{Duration, OffsetDateTime};

use super::db::{self, Listed};
use super::entry::next_step;
use crate::error::Result;
use crate::ids::{BatchId, PlaceId};
use crate::measure::LotCode;
use crate::recipes::{RecipeStep, Stage};

/// A batch whose stage ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    pub batch: BatchId,
    pub code: LotCode,
    pub product_name: String,
    pub stage: Stage,
    /// When it was entered.
    pub since: OffsetDateTime,
    /// Whether the recipe plans hours for it and there are pieces that wait for their end: hung, not released, not gone.
    pub waits: bool,
    /// When the stage has had the hours that the recipe plans; when it began, where the recipe plans none.
    pub over_at: OffsetDateTime,
    /// What comes next; none where the pieces are to be looked at and released.
    pub next: Option<Stage>,
    pub place: Option<PlaceId>,
    pub place_name: String,
}

/// Every batch that is not released, by when its stage ends, the earliest first. A batch in the making is due from the
/// moment it was begun: it does not keep.
pub async fn due(db: &mut PgConnection) -> Result<Vec<Due>> {
    let mut all: Vec<Due> = db::listed(db, 0).await?.iter().map(of).collect();
    all.sort_by_key(|due| (due.over_at, due.code));
    Ok(all)
}

/// When the stage of a listed batch ends, and what comes after it.
pub(super) fn of(row: &Listed) -> Due {
    let steps: Vec<RecipeStep> = row
        .steps
        .iter()
        .zip(&row.hours)
        .map(|(stage, hours)| RecipeStep {
            stage: *stage,
            hours: u32::try_from(*hours).unwrap_or_default(),
            note: String::new(),
        })
        .collect();
    let (hours, next) = ahead(&steps, &row.stages, row.stage);
    Due {
        batch: row.id,
        code: row.code,
        product_name: row.product_name.clone(),
        stage: row.stage,
        since: row.stage_at,
        waits: hours > 0 && row.waiting,
        over_at: row.stage_at + Duration::hours(i64::from(hours)),
        next,
        place: row.place,
        place_name: row.place_name.clone().unwrap_or_default(),
    }
}

/// The hours of the stage that a batch is in, none where the recipe does not plan it, and the stage after it.
fn ahead(steps: &[RecipeStep], signed: &[Stage], now: Stage) -> (u32, Option<Stage>) {
    let next = next_step(steps, signed);
    let done = next.unwrap_or(steps.len());
    let here = done.checked_sub(1).and_then(|at| steps.get(at)).filter(|step| step.stage == now);
    (here.map_or(0, |step| step.hours), next.and_then(|at| steps.get(at)).map(|step| step.stage))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step(stage: Stage, hours: u32) -> RecipeStep {
        RecipeStep { stage, hours, note: String::new() }
    }

    #[test]
    fn a_stage_lasts_what_the_recipe_says_and_the_next_one_follows() {
        let steps = [step(Stage::Fermenting, 48), step(Stage::Drying, 720)];
        assert_eq!(ahead(&steps, &[], Stage::Making), (0, Some(Stage::Fermenting)));
        assert_eq!(ahead(&steps, &[Stage::Fermenting], Stage::Fermenting), (48, Some(Stage::Drying)));
        assert_eq!(ahead(&steps, &[Stage::Fermenting, Stage::Drying], Stage::Drying), (720, None));
    }

    #[test]
    fn a_stage_that_the_recipe_does_not_plan_has_no_hours() {
        let steps = [step(Stage::Drying, 720)];
        assert_eq!(ahead(&steps, &[Stage::Resting], Stage::Resting), (0, Some(Stage::Drying)));
    }
}
