//! The figures on top of a batch, and its nitrite.

use crate::batches::db::WeighedIngredient;
use crate::batches::entry::{self, Actual, Standing, WeighedCure};
use crate::measure::{Grams, Percent};
use crate::recipes::{how, of_both};
use crate::standards::curing::Strength;
use crate::web::Shop;
use crate::web::parts::{Fact, Figure};

/// The chief figures of a batch.
pub fn figures(shop: &Shop, batch: &Standing, actual: &Actual) -> Vec<Figure> {
    let figure = |name: &str, grams: Grams| {
        let (value, unit) = grams.figure(shop.system);
        Figure::new(name, value, unit)
    };
    let planned = format!("{} planned", shop.weight(batch.meat_target));
    let mut figures = vec![figure("Meat", batch.meat).beneath(planned)];
    if batch.pieces.is_empty() {
        figures.push(figure(
            if batch.kind.is_whole_muscle() { "Cure weighed" } else { "In the mix" },
            batch.mix.grams,
        ));
    } else {
        figures.push(pieces(shop, batch));
    }
    if let Actual::Known(both) = actual {
        figures.extend(of_both(both));
    }
    figures
}

fn pieces(shop: &Shop, batch: &Standing) -> Figure {
    let now: Grams = batch.pieces.iter().map(|piece| piece.lot.grams).sum();
    let count = batch.pieces.iter().filter(|piece| piece.lot.grams.is_positive()).count();
    let (value, unit) = now.figure(shop.system);
    let pieces = if count == 1 { "in 1 piece".to_owned() } else { format!("in {count} pieces") };
    Figure::new("Weighs", value, unit).beneath(pieces)
}

/// How the nitrite was reckoned.
pub fn reckoned(actual: &Actual) -> Vec<Fact> {
    match actual {
        Actual::Known(both) => how(both),
        Actual::Unknown | Actual::NoCure => Vec::new(),
    }
}

/// What can be said of its nitrite.
pub fn actual(batch: &Standing, weighed: &[WeighedIngredient], laid_on: Option<(Grams, Grams)>) -> Actual {
    let weighed: Vec<WeighedCure> = weighed.iter().map(cure).collect();
    entry::actual(batch, &weighed, laid_on)
}

fn cure(row: &WeighedIngredient) -> WeighedCure {
    let stated = row.nitrite.is_some() || row.nitrate.is_some();
    let strength = stated.then(|| Strength {
        nitrite: row.nitrite.unwrap_or(Percent::ZERO),
        nitrate: row.nitrate.unwrap_or(Percent::ZERO),
    });
    WeighedCure { role: row.role, weight: row.grams, strength }
}
