//! Recipes for stories.

use flitchbook::ids::{ItemId, Named, RecipeId};
use flitchbook::measure::Percent;
use flitchbook::recipes::entry::{RecipeLine, RecipeStep, RecipeWritten};
use flitchbook::recipes::{RecipeKind, Role, Stage};
use rust_decimal::dec;

use super::making::{Larder, line, step};
use super::{Cast, Shop};

impl Shop {
    /// A recipe for loins, written once a call.
    pub async fn loin_recipe(&self, larder: &Larder) -> RecipeWritten {
        let lines =
            vec![line(Role::Salt, &larder.salt, dec!(2.75)), line(Role::Cure, &larder.cure, dec!(0.25))];
        let steps = vec![step(Stage::Curing, 336), step(Stage::Drying, 1_440)];
        self.recipe("Cured loin", RecipeKind::DryCureEquilibrium, &larder.cured_loin, lines, steps).await
    }

    /// A recipe for salami.
    pub async fn salami_recipe(&self, larder: &Larder) -> RecipeWritten {
        let lines = vec![
            line(Role::Meat, &larder.trim, dec!(100)),
            line(Role::Salt, &larder.salt, dec!(2.5)),
            line(Role::Cure, &larder.cure, dec!(0.25)),
            line(Role::Spice, &larder.pepper, dec!(0.3)),
            line(Role::Casing, &larder.casing, dec!(0)),
        ];
        let steps = vec![step(Stage::Fermenting, 48), step(Stage::Drying, 720)];
        self.recipe("Pepper salami", RecipeKind::GroundFermented, &larder.salami, lines, steps).await
    }

    /// Writes a recipe's first version.
    pub async fn recipe(
        &self,
        name: &str,
        kind: RecipeKind,
        product: &Named<ItemId>,
        lines: Vec<RecipeLine>,
        steps: Vec<RecipeStep>,
    ) -> RecipeWritten {
        let mut pen = self.pen(Cast::Curer).await;
        let recipe = RecipeWritten {
            recipe: RecipeId::made_by(pen.next().id),
            name: format!("{name} {}", pen.next().seq),
            version: 1,
            kind,
            product: product.clone(),
            brine: None,
            target_loss: Some(Percent::new(dec!(35))),
            weigh_every: Some(7),
            note: String::new(),
            way: None,
            pump: None,
            pick_up: None,
            falls_under: None,
            moisture: None,
            lines,
            steps,
        };
        pen.append(recipe.clone()).await.unwrap();
        pen.commit().await.unwrap();
        recipe
    }
}
