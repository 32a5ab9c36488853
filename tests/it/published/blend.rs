//! Blending lean and fat: a teaching set of the trade, and arithmetic on the same form.

use flitchbook::measure::{Grams, Percent};
use flitchbook::standards::blend::{Bin, nearest, two};
use rust_decimal::{Decimal, dec};

use super::{Published, figure, printed};

const TEACHING: &str = "a meat science teaching set on blending to a target";
const ARITHMETIC: &str = "arithmetic: share of A = (b − t) ÷ (b − a)";

fn share(a: Decimal, b: Decimal, target: Decimal) -> (Decimal, Decimal) {
    two(Percent::new(a), Percent::new(b), Percent::new(target)).unwrap()
}

pub fn figures() -> Vec<Published> {
    let (lean, fat) = share(dec!(10), dec!(25), dec!(20));
    let (a, b) = share(dec!(28), dec!(58), dec!(35));
    let bin = |lean| Bin { on_hand: Grams::whole(1000), lean: Percent::new(lean) };
    let bins = nearest(&[bin(dec!(10)), bin(dec!(25))], Grams::whole(1000), Percent::new(dec!(20))).unwrap();
    let hundred = |share: Decimal| printed(share * dec!(100), 2);
    let outside = |target| {
        let blend = two(Percent::new(dec!(10)), Percent::new(dec!(25)), Percent::new(target));
        blend.map_or("no answer", |_| "an answer")
    };
    vec![
        figure(
            TEACHING,
            "10 % and 25 % fat to 20 %, lb of the first in 1,000",
            "333.33",
            printed(lean * dec!(1000), 2),
        ),
        figure(TEACHING, "lb of the second", "666.67", printed(fat * dec!(1000), 2)),
        figure(TEACHING, "the same as bins by least change, the first", "333.33", printed(bins[0], 2)),
        figure(TEACHING, "the same as bins by least change, the second", "666.67", printed(bins[1], 2)),
        figure(ARITHMETIC, "28 % and 58 % to 35 %, the first", "76.67", hundred(a)),
        figure(ARITHMETIC, "28 % and 58 % to 35 %, the second", "23.33", hundred(b)),
        figure(ARITHMETIC, "10 % and 25 % to 25 %", "an answer", outside(dec!(25))),
        figure(ARITHMETIC, "10 % and 25 % to 25.0001 %", "no answer", outside(dec!(25.0001))),
        figure(ARITHMETIC, "10 % and 25 % to 9.9999 %", "no answer", outside(dec!(9.9999))),
    ]
}
