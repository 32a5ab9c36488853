//! Published cut-outs of hogs, cutting tests, and the arithmetic of a cook's textbook.

use flitchbook::measure::{Grams, PricePerKg, WeightUnit};
use flitchbook::standards::yields::{Basis, CuttingTest, cutting_change, dressing, portions, yielded};
use rust_decimal::{Decimal, dec};

use super::{Published, figure, printed};

const CUT_OUT: &str = "cut-out of a 250 lb hog, a state university extension and a pork producers' council";
const TAKEN_HOME: &str = "a state extension brochure, 250 lb live, 180 lb carcass";
const CUTTING_TEST: &str = "a published cutting test of a boneless butt";
const TEXTBOOK: &str = "an open textbook of cook's trade arithmetic";

fn pounds(weight: Decimal) -> Grams {
    Grams::of(weight, WeightUnit::Pound)
}

/// What cuts leave of their source, in pounds and in words.
fn left(source: Decimal, cuts: &[Decimal]) -> String {
    let cuts: Vec<Grams> = cuts.iter().map(|cut| pounds(*cut)).collect();
    let change = cutting_change(pounds(source), &cuts).unwrap();
    let weight = printed(change.grams().in_unit(WeightUnit::Pound), 1);
    if weight == "0.0" { "nothing".to_owned() } else { format!("{} of {weight} lb", change.words()) }
}

pub fn figures() -> Vec<Published> {
    let mut all = cut_out();
    all.extend(taken_home());
    all.extend(tests());
    all
}

/// The rows of each primal sum to it; the primals sum to 0.2 lb more than the carcass, which must show.
fn cut_out() -> Vec<Published> {
    let rows: [(&str, Decimal, &[Decimal]); 6] = [
        ("ham", dec!(45), &[dec!(25.5), dec!(2.3), dec!(5.8), dec!(11.4)]),
        ("side", dec!(34.9), &[dec!(19), dec!(5.8), dec!(9.1), dec!(1)]),
        ("loin", dec!(33.8), &[dec!(3.2), dec!(10.7), dec!(7.6), dec!(5.7), dec!(1.6), dec!(1.6), dec!(3.4)]),
        ("picnic", dec!(16.6), &[dec!(12.6), dec!(4)]),
        ("butt", dec!(14.7), &[dec!(4.4), dec!(7.8), dec!(1.7), dec!(0.8)]),
        ("other", dec!(39.2), &[dec!(15.4), dec!(22), dec!(1.8)]),
    ];
    let mut all: Vec<Published> = rows
        .iter()
        .map(|(name, primal, cuts)| {
            figure(CUT_OUT, format!("rows of the {name}, what is left"), "nothing", left(*primal, cuts))
        })
        .collect();
    let primals: Vec<Decimal> = rows.iter().map(|(_, primal, _)| *primal).collect();
    let dressed = dressing(pounds(dec!(184)), pounds(dec!(250))).unwrap();
    all.push(figure(CUT_OUT, "dressing, per cent", "73.6 %", dressed.percent.text()));
    all.push(figure(CUT_OUT, "primals of the 184 lb carcass", "gain of 0.2 lb", left(dec!(184), &primals)));
    all
}

fn taken_home() -> Vec<Published> {
    let cuts = [28, 23, 23, 6, 9, 12, 3, 5, 23, 9, 3].map(Decimal::from);
    let home: Decimal = cuts.iter().sum();
    let carcass = pounds(dec!(180));
    let share = yielded(pounds(home), carcass, Basis::ChilledCarcass).unwrap();
    let weights: Vec<Grams> = cuts.iter().map(|cut| pounds(*cut)).collect();
    let lost = cutting_change(carcass, &weights).unwrap();
    let dressed = dressing(carcass, pounds(dec!(250))).unwrap();
    vec![
        figure(TAKEN_HOME, "lb taken home", 144, home),
        figure(TAKEN_HOME, "what the carcass lost", "loss of 36.0 lb", left(dec!(180), &cuts)),
        figure(TAKEN_HOME, "lost, per cent of the carcass", "20.0 %", lost.percent().text()),
        figure(TAKEN_HOME, "taken home, per cent of the carcass", "80.0 %", share.percent.text()),
        figure(TAKEN_HOME, "dressing, per cent", "72.0 %", dressed.percent.text()),
    ]
}

fn tests() -> Vec<Published> {
    let butt = yielded(pounds(dec!(14.02)), pounds(dec!(15.91)), Basis::SourceLot).unwrap();
    let loin = CuttingTest::new(Grams::whole(5200), Grams::whole(4600)).unwrap();
    let price = loin.usable_price(PricePerKg::new(dec!(11.95)));
    let usable = portions(85, Grams::whole(170)).unwrap();
    let bought = loin.to_buy(usable).unwrap();
    let kilos = |weight: Grams| printed(weight.in_unit(WeightUnit::Kilogram), 2);
    vec![
        figure(CUTTING_TEST, "14.02 lb boneless of 15.91", "88.12 %", butt.percent.text_places(2)),
        figure(
            CUTTING_TEST,
            "bone, scrap and boneless, what is left",
            "nothing",
            left(dec!(15.91), &[dec!(1.10), dec!(0.79), dec!(14.02)]),
        ),
        figure(
            TEXTBOOK,
            "striploin, 4.6 kg usable of 5.2",
            "88.46 %",
            loin.usable_yield().percent.text_places(2),
        ),
        figure(TEXTBOOK, "11.95 a kilo bought, a usable kilo", "13.51", printed(price.decimal(), 2)),
        figure(TEXTBOOK, "85 portions of 170 g, kg usable", "14.45", kilos(usable)),
        figure(TEXTBOOK, "kg bought for them", "16.33", kilos(bought)),
    ]
}
