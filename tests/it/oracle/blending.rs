//! Blends of several bins beside a general minimiser.

use flitchbook::measure::{Grams, Percent};
use flitchbook::standards::blend::{Bin, lean_of, nearest};
use rust_decimal::{Decimal, dec};
use serde_json::{Value, json};

use super::{Figures, ask, number};

/// The sum of the squares of what weights differ from the total shared out as the bins stand.
fn far(bins: &[Bin], weights: &[Decimal], total: Decimal) -> Decimal {
    let on_hand: Decimal = bins.iter().map(|bin| bin.on_hand.decimal()).sum();
    let off = |(bin, weight): (&Bin, &Decimal)| *weight - total * bin.on_hand.decimal() / on_hand;
    bins.iter().zip(weights).map(off).map(|off| off * off).sum()
}

#[test]
fn the_nearest_blend_is_the_one_that_a_general_minimiser_finds() {
    let mut figures = Figures(3);
    let (mut cases, mut asked) = (Vec::new(), Vec::new());
    while cases.len() < 60 {
        let count = figures.next(2, 6);
        let bins: Vec<Bin> = (0..count)
            .map(|_| Bin {
                on_hand: Grams::new(figures.decimal(5_000, 90_000, 0)),
                lean: Percent::new(figures.decimal(50, 980, 1)),
            })
            .collect();
        let on_hand: Grams = bins.iter().map(|bin| bin.on_hand).sum();
        let total = on_hand.times(figures.decimal(20, 90, 2));
        let target = Percent::new(figures.decimal(200, 900, 1));
        // What the bins cannot make is no case for the minimiser.
        if nearest(&bins, total, target).is_err() {
            continue;
        }
        let each: Vec<Value> = bins
            .iter()
            .map(|bin| json!({"held": bin.on_hand.decimal(), "lean": bin.lean.decimal()}))
            .collect();
        cases.push(json!({"bins": each, "total": total.decimal(), "target": target.decimal()}));
        asked.push((bins, total, target));
    }
    for ((bins, total, target), theirs) in asked.iter().zip(ask("blend", &cases)) {
        let ours = nearest(bins, *total, *target).unwrap();
        let theirs: Vec<Decimal> = theirs.as_array().unwrap().iter().map(number).collect();
        let lean = lean_of(bins, &ours).unwrap();
        assert!((lean - target.decimal()).abs() < dec!(0.000001), "{bins:?}: {lean}");
        // Two parts in ten thousand of the whole: the minimiser's own care.
        let within = total.decimal() * dec!(0.0002);
        for (ours, theirs) in ours.iter().zip(&theirs) {
            assert!((ours - theirs).abs() <= within, "{bins:?} to {target}: here {ours}, there {theirs}");
        }
        let care = dec!(1) + far(bins, &theirs, total.decimal()) * dec!(0.0001);
        assert!(far(bins, &ours, total.decimal()) <= far(bins, &theirs, total.decimal()) + care, "{bins:?}");
    }
}
