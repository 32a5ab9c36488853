//! The figures on top of a batch, what goes into it, and the limits that it is held to.

use crate::batches::entry::{self, Actual, Standing};
use crate::limits::{CureOf, HeldRow, held_rows};
use crate::measure::Grams;
use crate::recipes::{IngoingBoth, how, no_limits, of_both, put};
use crate::standards::ingoing::GoesIn;
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
    if let Actual::Known(goes_in) = actual {
        figures.extend(of_both(&IngoingBoth::of(goes_in)));
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
        Actual::Known(goes_in) => how(&IngoingBoth::of(goes_in)),
        Actual::Unknown | Actual::NoCure => Vec::new(),
    }
}

/// Each figure beside the limit that it is held against.
pub fn held(batch: &Standing, actual: &Actual) -> Vec<HeldRow> {
    let goes_in: Option<GoesIn> = match actual {
        Actual::Known(goes_in) => Some(*goes_in),
        Actual::NoCure => entry::nothing(batch),
        Actual::Unknown => None,
    };
    let Some(goes_in) = goes_in else { return Vec::new() };
    let mut cures: Vec<CureOf> = Vec::new();
    for one in &batch.weighings {
        let Some(line) = batch.line(one.n) else { continue };
        let brings = put(&line.line, one.weight.decimal(), one.brings).brings;
        let known = cures.iter().any(|cure| cure.name == one.name && cure.brings == brings);
        if !known && (brings.cures() || brings.accelerator.is_some()) {
            cures.push(CureOf { name: one.name.clone(), brings });
        }
    }
    held_rows(&entry::judged(batch, &goes_in), &goes_in, &cures, batch.meat_block().decimal())
}

/// What there is to say where nothing is held against a limit; else empty.
pub fn none_held(batch: &Standing, held: &[HeldRow]) -> &'static str {
    no_limits(&batch.in_force, held.is_empty())
}
